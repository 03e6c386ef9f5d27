
$01a21d0e-6a81-78d1-aaaa-e0baeae5b085workflow$01a21d0d-ba2d-7b9e-9c49-2c704a3f6c2e"piece*$01a21d0d-c30c-7bc0-9143-f504c8b0e14b0%:$01a21d0d-c30c-7bc0-9143-f504c8b0e14bB…ù¥Ø€ÁÄçJ…ù¥Ø€ÁÄçRLeadZ$01a21d0e-6a79-7eb1-ae7d-01fe68bc9faaêÍ
$01a21d0e-6a81-77e3-b60f-5c1c626018f7$01a21d0d-bdf4-7d63-8781-48908fd3892bJovan"$01a21d0d-be01-7843-8dad-16c31b792e4e*Kirsi2$01a21d0d-c322-7b10-8d7c-a4e062cf565a:
upholsteryZI am at the booth all day