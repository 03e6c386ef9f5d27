
$01a21de8-d70b-769e-b2d1-fc11ac2e4160intake$01a21de8-ceda-784d-a688-cdf9843b948b"
commission*$01a21de8-d694-7e9b-9df4-5d1061ba41340:$01a21de8-d5b6-7bbe-8b25-532f93323a37BàÌ¦Ø€À·Jğè¦ØåÓÊ·RLeadZ$01a21de8-d700-71fa-b60a-1c23540512c6ª"open"worm in a leg:
USDn