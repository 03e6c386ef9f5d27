
$01a21414-a92c-70d5-bb20-6e2cfc27ebedworkflow$01a21414-a84a-7eca-9346-3d09536f3e8f"piece*$01a21414-a8bd-700e-b701-6db5e346f22d0:$01a21414-a8bd-700e-b701-6db5e346f22dBìÄ–ÍJÌàœØýôÉ#RJossZ$01a21414-a92a-70c3-a33f-dce20043d9cfú›
˜
$01a21414-a918-7575-969c-fc50b64eea58$01a21414-a898-7504-9196-0cacc1192a4dJoss"$01a21414-a8cd-7520-8f84-d18b4a0c3ca7*hardware_off0:è½–ÍBìÄ–Í