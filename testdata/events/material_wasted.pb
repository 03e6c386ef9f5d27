
$01a2179b-dd82-7229-b5db-59de479d1eb2	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"product*$01a2179b-dd6b-7e29-bd95-d2139e2a326b0BÄü›Ø€ððäJ„¯ ØñüœåRLeadZ$01a2179b-dd80-7477-b6a5-dcb76ed8e833òy
$01a2179b-dd81-708f-8387-d6ce7449a55f$01a2179b-dd6b-7e29-bd95-d2139e2a326bWalnut stain"spilt*
0.1L2
USD€Éþ=