
$01a21e82-c3d3-7275-a94c-db5eedb64e67workflow$01a21e82-8d96-750b-bd05-7e1364b3d5e0"piece*$01a21e82-95bc-7d6e-8a1d-eec7dfa2c7260e:$01a21e82-95bc-7d6e-8a1d-eec7dfa2c726B×·§Ø²«”ÑJ×·§Ø²«”ÑROdileZ$01a21e82-c3a6-72e0-9d01-22e5d86d79dcú¢
$01a21e82-c391-70bd-9e0b-2a0d80fb25a9w
$01a21e82-c3d2-7f40-8780-f0b4d8e611bfglue_and_clamp"$01a21e82-9645-7808-9ab0-5ee3ef2454e2*glue-and-clamp-againPXðf
$01a21e82-c3d2-7f41-8ced-cee11a15d95einspect"$01a21e82-c3d2-7f40-8780-f0b4d8e611bf*inspect-againPjoint_loose2×·§ØÀ“ÔÁ