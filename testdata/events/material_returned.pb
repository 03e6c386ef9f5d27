
$01a2179b-dd7f-7496-bfc2-59fcbcf33870	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"piece*$01a2179b-a747-7d8f-9c80-07893e9622740:$01a2179b-a747-7d8f-9c80-07893e962274B¥ˇôÿ¿Ÿø‚JÑØ†ÿç÷ò„RLeadZ$01a2179b-dd7b-7d9e-84fa-11e0dfc02b3bÍŒ
$01a2179b-dd7f-740d-95dc-2853f01a7bbb$01a2179b-dd7a-766f-b564-eac5ac47f7b0$01a2179b-dd6b-7e29-bd95-d2139e2a326b"Walnut stain*$01a2179b-a757-732f-8acc-99e543800aa12
scuff_sand8B

0.333LJ
USDÄËí&