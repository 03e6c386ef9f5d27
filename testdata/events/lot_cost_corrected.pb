
$01a21765-bda2-73f4-aea7-a9d43d8fe6ab	materials$01a21765-7c70-78c5-acff-326b4ff22453"product*$01a21765-bd5c-72ad-9ceb-ca7b2b5ea0550B©®—ØÀ€ •J©“ Ø×ÒÕ³RLeadZ$01a21765-bda0-71a9-bb09-c44b241af8b7‚‚
$01a21765-bd5c-72ad-9ceb-ca7b2b5ea055Amber stain$01a21765-bd63-7600-8457-d6c34bda9569"
USD5€ªêU*
USD02the bill says so