
$01a2179b-dd91-767d-b1df-827190b03b1b	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"recipe*$01a2179b-dd8f-7b07-b128-d5e1725234c50B„¯ Ø¡Ù¯ìJ„¯ Ø¡Ù¯ìRLeadZ$01a2179b-dd8e-7eb6-9dc8-18eeb5392d90ÚÊ
$01a2179b-dd8f-7b07-b128-d5e1725234c5Warm walnut$01a2179b-dd6c-7df2-9f0e-b5874810899f"7
$01a2179b-dd6b-7e29-bd95-d2139e2a326bWalnut stain3"6
$01a2179b-dd6c-7671-b009-f99c15029d0eAmber stain1