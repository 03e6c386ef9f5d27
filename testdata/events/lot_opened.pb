
$01a21765-bd66-77f0-a4f2-352735eb8a40	materials$01a21765-7c70-78c5-acff-326b4ff22453"product*$01a21765-bd5a-74d0-b22b-13d2055728fc0B¹Ê—ØÀ’”—J©“ ØøÆÖ—RLeadZ$01a21765-bd65-7ad9-bdfd-dd635a393b50Šˆ
$01a21765-bd5a-74d0-b22b-13d2055728fcWalnut stain$01a21765-bd63-75df-9a3a-7af3e4f3f171"$01a21765-bd66-7768-a695-1d4454fbc90d*
1L