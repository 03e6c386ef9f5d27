
$01a21e78-8fc1-7625-a50f-d0a7c441735asales$01a21e78-886a-70b4-85fd-dc2286c5267b"listing*$01a21e78-8e62-7716-9848-4d0e64ddb3670:$01a21e78-8e62-7716-9848-4d0e64ddb367B»²§ØÀ¼õrJ»²§Ø»ÈˆsROdileZ$01a21e78-8e33-7426-80b0-faf4c3025db2â‚
$01a21e78-8f69-74e3-a465-72250c2d78f9Fair"
USDñ*
USD€øÎ£2
USD€Â×/HZSpringfieldb8.25j
USDñz
USD„€øÎ£