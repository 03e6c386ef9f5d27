
$01a2179b-dd74-75d8-93aa-43f9c974fcc5	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"product*$01a2179b-dd6b-7e29-bd95-d2139e2a326b0B”æ—ØÀµ×ÞJ„¯ Øõ½™ßRLeadZ$01a2179b-dd73-7b01-a564-efa7aab41675Šˆ
$01a2179b-dd6b-7e29-bd95-d2139e2a326bWalnut stain$01a2179b-dd71-7e3e-8c52-204d176b02ed"$01a2179b-dd74-755d-9a97-111ecabf0c7c*
1L