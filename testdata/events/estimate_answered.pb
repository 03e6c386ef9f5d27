
$01a21de8-d6cb-71ba-9a3c-ebf75b3eeac4intake$01a21de8-ceda-784d-a688-cdf9843b948b"
commission*$01a21de8-d694-7e9b-9df4-5d1061ba41340BĞ°¦Ø€¿ß€Jğè¦Ø¡Õ˜RLeadZ$01a21de8-d6be-7b28-8bdd-51d8d17305d6¢,"Ana Ruiz*by_phone2
USDÚBtoo dear