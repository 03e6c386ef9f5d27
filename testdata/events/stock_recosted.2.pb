
$01a2179b-ddb3-7538-842c-49c66d360ff1	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"product*$01a2179b-dd6b-7e29-bd95-d2139e2a326b0Bô­—Ø€ÈâûJ„¯ Ø®™üRLeadZ$01a2179b-ddb0-79f1-9342-bd1a84893bb7ª²
$01a2179b-dd6b-7e29-bd95-d2139e2a326bWalnut stainV
$01a2179b-dd81-708f-8387-d6ce7449a55fwaste
USD€Éş="
USD€¶÷ó*Äü›Ø€Èâû"$01a2179b-ddb1-7dda-a1b8-0ea2c81dd555