
$01a21765-f295-785d-bb45-edf9988ce9dd	materials$01a21765-7c70-78c5-acff-326b4ff22453"oily waste check*$01a21765-f295-781c-b13b-39738f078c880B¶“ ØÀæñ¼J¶“ ØÄ™’½RLeadZ$01a21765-f294-7ced-ba66-5c1d13e44291º<
$01a21765-f295-781c-b13b-39738f078c88metal can with water