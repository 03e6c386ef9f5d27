
$01a21414-ad70-75c9-a42d-c2d2cd68bb47sales$01a21414-a834-7d62-8c99-84ee8f68e507"listing*$01a21414-a8d1-71df-8764-d6ca3c9c42030:$01a21414-a8d1-71df-8764-d6ca3c9c4203B€ÆËÍJÍàœØÍÞ…PROdileZ$01a21414-ad6f-7491-bc6a-04fe1027b39bêˆ
$01a21414-ad6a-7d76-8b68-ea531d1f8631$01a21414-ad6f-7d3a-bda6-a9718690e4ac
USD‰"
USD€žŠš*
USD0:too wide for the hallway