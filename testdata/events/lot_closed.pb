
$01a21765-bda5-784d-9184-b92f317150a5	materials$01a21765-7c70-78c5-acff-326b4ff22453"product*$01a21765-bd5c-72ad-9ceb-ca7b2b5ea0550B©“ Ø€®™µJ©“ Ø§Ï¿µRLeadZ$01a21765-bda3-7ea7-ad4a-457c8376e70fšg
$01a21765-bd5c-72ad-9ceb-ca7b2b5ea055Amber stain$01a21765-bd63-7600-8457-d6c34bda9569"skinned over