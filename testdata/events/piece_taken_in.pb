
$01a2146f-a917-74ba-ae9f-c3640e2f4626intake$01a2146f-a89d-736e-941b-e8e63828de65"piece*$01a2146f-a917-72d5-8ace-e0fa4e6a38650:$01a2146f-a917-72d5-8ace-e0fa4e6a3865B¸¬ˆÍJ—Øÿ»«ŒROdileZ$01a2146f-a914-76d7-812f-9237f332b462¢ÜeOak sideboard, two doors	sideboard2.
$01a2146f-a917-7340-90d2-bf66ec44dc14case2/
$01a2146f-a917-7351-a0b0-1fa54d1f87fedoors21
$01a2146f-a917-7357-8515-b7133a204264drawers"

USDUestate saleê