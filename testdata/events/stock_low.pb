
$01a21414-a8a8-7bc2-a473-aa4950a59d13	materials$01a21414-a80f-7c06-8f3c-f9e5145fe202"product*$01a21414-a8a8-7a3d-8df4-577d83f1c9960BËàœØóú¹ÂJËàœØóú¹ÂROdileZ$01a21414-a8a5-7a56-b110-dcbf0a2077a2ÊO
$01a21414-a8a8-7a3d-8df4-577d83f1c996Stain-blocking primer
0L"
0.5L