
$01a2179b-ddaf-7946-b3d3-79181fcf4cbd	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"product*$01a2179b-dd6c-7671-b009-f99c15029d0e0Bä•žØ€¿èúJ„¯ ØÌª³ûRLeadZ$01a2179b-ddae-7902-90a9-162f424fb27dúŒ
$01a2179b-ddaf-7882-be27-1c6afc3871ae$01a2179b-dd6c-7671-b009-f99c15029d0eAmber stain"
1.5L*

-0.25L2
USDúÿÿÿÿÿÿÿÿ€“‡Êýÿÿÿÿ