
$01a21765-f28d-70a8-8b45-270b8b10ac78	materials$01a21765-7c70-78c5-acff-326b4ff22453"	equipment*$01a21765-f28d-7040-b9f8-2b8ff714efee0B¶“ Ø¼·Š¹J¶“ Ø¼·Š¹RLeadZ$01a21765-f28b-7a68-8a7f-40976f89205bÂS
$01a21765-f28d-7040-b9f8-2b8ff714efee	Turbine 2sprayer"
USD(22topcoat_coat