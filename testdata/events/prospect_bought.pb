
$01a21a60-78d6-7e09-87fc-819bd6c11f5fintake$01a21a5e-bb8a-76c0-b93c-9ea825f7b48d"prospect*$01a21a60-7877-7474-bf42-25da0e26fc630Bë™£Ø€Õ‹ÜJë™£ØÂ‘ÜROwnerZ$01a21a60-7854-7c2b-aede-89437b8b1242ê1$01a21a60-78d2-71af-bea7-7c933a302a47
USDn