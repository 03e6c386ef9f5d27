
$01a21de8-d696-73a8-ae7f-a77be729d8adintake$01a21de8-ceda-784d-a688-cdf9843b948b"
commission*$01a21de8-d694-7e9b-9df4-5d1061ba41340BА”¦ШЂїЯЂJри¦ШК•зЃRLeadZ$01a21de8-d68e-731e-97ce-f75744d85179љH$01a21de8-d679-754f-9d6a-7e972242b545"
USDЪ*
USDЪ2
USDЪ