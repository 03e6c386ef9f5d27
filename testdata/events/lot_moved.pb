
$01a21765-bd69-7a06-a2ed-97ce9d3e63e1	materials$01a21765-7c70-78c5-acff-326b4ff22453"product*$01a21765-bd5a-74d0-b22b-13d2055728fc0BÉæ—Ø€ Ë˜J©“ Ø£Žå˜RLeadZ$01a21765-bd68-70fe-ad0a-17c6157df5a6’®
$01a21765-bd5a-74d0-b22b-13d2055728fcWalnut stain$01a21765-bd63-75df-9a3a-7af3e4f3f171"$01a21765-bd68-7e2e-91b7-5d157f16b0e5*
1L2$01a21765-bd5f-7b55-bf8c-0b83699d8e95