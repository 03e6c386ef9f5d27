
$01a21e7d-167f-7668-b216-3491b2079679sales$01a21e7c-fd44-753a-a2b4-c9af6dd5a027"listing*$01a21e7d-12f8-7720-9148-49b9eebd22380:$01a21e7d-12f8-7720-9148-49b9eebd2238Bã´§Ø€ˆð²Jã´§ØØ„†³ROdileZ$01a21e7d-1623-7e2c-85db-4b2f5449b650ºF
$01a21e7d-1421-70d5-bb40-64a121bd5229	Lena Fisk"she found another