
$01a21765-bd98-7e13-b429-3f8c0fc7d3a5	materials$01a21765-7c70-78c5-acff-326b4ff22453"product*$01a21765-bd5a-74d0-b22b-13d2055728fc0B™’—ØÀê…®J©“ ØñÒ¸®RLeadZ$01a21765-bd95-78e2-950c-a1231731dd0cª¤
$01a21765-bd5a-74d0-b22b-13d2055728fcWalnut stainH
$01a21765-bd77-77dd-9104-b4009917f2f5waste
USD€Éþ="
USD€¶÷ó"$01a21765-bd97-72b7-bd58-6ac79af44390