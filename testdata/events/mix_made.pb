
$01a2179b-dd97-72a6-bc47-7a160f87bad0	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"mix*$01a2179b-dd95-7437-b3b2-b0b148149f1e0B”‰Ø€Á»íJ„¯ Ø„ìşíRLeadZ$01a2179b-dd92-76c4-af08-8687066c9588â©
$01a2179b-dd95-7437-b3b2-b0b148149f1e$01a2179b-dd8f-7b07-b128-d5e1725234c5"$01a2179b-dd6c-7df2-9f0e-b5874810899f*Warm walnut2$01a2179b-dd95-74eb-94b1-5586041e1b96:
1LB
USD€ŒJt
$01a2179b-dd95-745a-b3a8-7d7a504867bd$01a2179b-dd6b-7e29-bd95-d2139e2a326bWalnut stain"	
0.75L*
USD€³ÿÄJs
$01a2179b-dd95-74ca-98b3-9714a05683cf$01a2179b-dd6c-7671-b009-f99c15029d0eAmber stain"	
0.25L*
USD€íøµ