
$01a21dee-0b70-7157-baa9-e15b7cc59210sales$01a21dee-0305-7f3f-97f2-4a75bd5932bd"listing*$01a21dee-0aa1-767e-b28d-a6af4f7ed9d90:$01a21dee-0aa1-767e-b28d-a6af4f7ed9d9BΕλ¦ΨΐθJΕλ¦Ψ«±­θROdileZ$01a21dee-0b6d-7e37-a315-6184fa4bd1b1*

κ
USDϊ

κ
USDά