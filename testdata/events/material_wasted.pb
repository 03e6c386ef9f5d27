
$01a21765-bd77-78fa-be6f-c4152de0138f	materials$01a21765-7c70-78c5-acff-326b4ff22453"product*$01a21765-bd5a-74d0-b22b-13d2055728fc0Béà›ØÀÚäžJ©“ Ø×ŸÓŸRLeadZ$01a21765-bd75-7d9d-9b87-06d37b8fff76òy
$01a21765-bd77-77dd-9104-b4009917f2f5$01a21765-bd5a-74d0-b22b-13d2055728fcWalnut stain"spilt*
0.1L2
USD€Éþ=