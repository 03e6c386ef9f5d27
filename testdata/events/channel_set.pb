
$01a21dee-0a6b-7304-ad09-4511c50422a6sales$01a21dee-0305-7f3f-97f2-4a75bd5932bd"channel*$01a21dee-0a4d-7b56-a5c3-6a660f3943e50B≈Î¶ÿ€‘©lJ≈Î¶ÿ€‘©lROdileZ$01a21dee-09c8-7396-81d5-c0deef12852eí)
Fairweekly market"
10
USD*
USD