
$01a21dee-14d8-7e2a-8723-ae16709c404esales$01a21dee-0305-7f3f-97f2-4a75bd5932bd"channel*$01a21dee-0a4d-7b56-a5c3-6a660f3943e50BÇë¦Øûî×«JÇë¦Øûî×«ROdileZ$01a21dee-14c7-760a-9f50-0a4baad97513š
Fair