
$01a21414-ac81-750d-926b-20de3aa70456workflow$01a21414-a84a-7eca-9346-3d09536f3e8f"piece*$01a21414-a8fa-7256-b31a-3c0dd5113d100:$01a21414-a8fa-7256-b31a-3c0dd5113d10BŒ‘œÍJÌàœØœ—Ã¹ROdileZ$01a21414-ac7d-7172-9002-8a87948d156c‚â

$01a21414-ab63-7e0b-9118-962779fc62d8$01a21414-a898-7504-9196-0cacc1192a4dJoss"$01a21414-a8fe-71c6-9a16-a06f320a75e5*sand0:Œ‘œÍBœ­œÍ
$01a21414-ac7d-7e7e-8a89-6cadc7675ef0$01a21414-a898-7504-9196-0cacc1192a4dJoss"$01a21414-a8fe-71c6-9a16-a06f320a75e5*sand0:Œ‘œÍB˜¦œÍ:went to unload a delivery at 10:58 and forgot to clock off