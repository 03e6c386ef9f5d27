
$01a21dee-149d-73e0-99d0-a2712d9354cesales$01a21dee-0305-7f3f-97f2-4a75bd5932bd"listing*$01a21dee-0aa1-767e-b28d-a6af4f7ed9d90:$01a21dee-0aa1-767e-b28d-a6af4f7ed9d9BÇë¦ØÀ„ØîJÇë¦ØÀŒÚîROdileZ$01a21dee-1424-7878-88bc-7244029fb7c9‚
Fair
WindowWindow