
$01a21414-a975-7984-99f8-ef6fc8ea0df7	materials$01a21414-a80f-7c06-8f3c-f9e5145fe202"product*$01a21414-a8b7-7c0d-9c48-a22cb7fd98fc0:$01a21414-a8e9-78bb-885f-91eb9bbc1397Bò÷ñÕJÃ‡úÿØ±îFRMateoZ$01a21414-a971-71ed-8834-611a470a51a5¬Á
$01a21414-a973-7234-ac88-782eabad2212$01a21414-a8b7-7c0d-9c48-a22cb7fd98fcGel stripper"$01a21414-a8ee-7148-bbbe-26c12ff2f073*strip0:

0.385LB
USDÄ‡·…JA
$01a21414-a8e5-7da5-a447-71f64023f446

0.385L
USDÄ‡·…