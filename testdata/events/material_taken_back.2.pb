
$01a2146f-ab49-7693-a90f-765c8433add8	materials$01a2146f-a8c5-7684-889b-1fcf131d9bc7"product*$01a2146f-a90f-771c-973b-36c404a991750:$01a2146f-a934-7e04-b44a-03be3198c3d4B¿∫¶ÕJòèùÿ¡î—∫RPriyaZ$01a2146f-ab47-7012-a663-2668431986b2⁄⁄
$01a2146f-ab44-76d2-a310-628a985c33df$01a2146f-a90f-771c-973b-36c404a99175Water-borne clear coat"$01a2146f-a938-7951-be19-a8699cd03f5e*topcoat_coat0:	
0.11LB
USDÄ‡·…J@
$01a2146f-aa2d-742d-810a-d3462591947b	
0.11L
USDÄ‡·…R#it is for the case, not the shelvesZ=
$01a2146f-ab44-76d2-a310-628a985c33df¥¶Õ
USDÄ‡·…