
$01a21414-a932-7301-98b3-f29a085caaf0workflow$01a21414-a84a-7eca-9346-3d09536f3e8f"piece*$01a21414-a8bd-700e-b701-6db5e346f22d0:$01a21414-a8bd-700e-b701-6db5e346f22dBìÄ–ÍJÌàœØòŽÁ%RJossZ$01a21414-a92e-70c4-8244-9fdcda7619f8â6
$01a21414-a8cd-7520-8f84-d18b4a0c3ca7hardware_off