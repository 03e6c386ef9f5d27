
$01a2179b-ddb3-73f3-8f59-ff597723510d	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"piece*$01a2179b-a747-7d8f-9c80-07893e9622740:$01a2179b-a747-7d8f-9c80-07893e962274Bô­—Ø€ÈâûJ„¯ Ø®™üRLeadZ$01a2179b-ddb0-79f1-9342-bd1a84893bb7¢ë
$01a2179b-dd6b-7e29-bd95-d2139e2a326bWalnut stainx
$01a2179b-dd7a-766f-b564-eac5ac47f7b0$01a2179b-a757-732f-8acc-99e543800aa1
scuff_sand *
USD€²È”2
USD
€ Ë˜”
$01a2179b-dd7f-740d-95dc-2853f01a7bbb$01a2179b-a757-732f-8acc-99e543800aa1
scuff_sand *
USDùÿÿÿÿÿÿÿÿ€˜íÙÿÿÿÿÿ2
USDûÿÿÿÿÿÿÿÿ€ş‘Ÿıÿÿÿÿ"$01a2179b-ddb1-7dda-a1b8-0ea2c81dd555