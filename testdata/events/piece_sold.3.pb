
$01a21e7d-115f-7721-ac55-c4de4d519a3bsales$01a21e7c-fd44-753a-a2b4-c9af6dd5a027"listing*$01a21e7d-09a1-7131-bf25-2cbd4af96ade0	:$01a21e7d-09a1-7131-bf25-2cbd4af96adeB‚¥ßÿÄ≥Ì–J‚¥ßÿÅßô—ROdileZ$01a21e7d-1051-79ea-8415-ad6f00f490a9‚^
$01a21e7d-1086-7b19-8293-75a0daa7975dFair	R. Okafor"
USDò*
USD2
USDHR
USDP