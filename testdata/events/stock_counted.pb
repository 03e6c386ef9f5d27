
$01a21765-bd94-7295-a31d-c3b9f383f1a7	materials$01a21765-7c70-78c5-acff-326b4ff22453"product*$01a21765-bd5c-72ad-9ceb-ca7b2b5ea0550B‰úØ€İÎ¬J©“ Ø÷Ÿ­RLeadZ$01a21765-bd92-73a1-84c0-bbf29807d89eúŒ
$01a21765-bd94-70c8-b313-4d9b1dc917e0$01a21765-bd5c-72ad-9ceb-ca7b2b5ea055Amber stain"
1.5L*

-0.25L2
USDúÿÿÿÿÿÿÿÿ€“‡Êıÿÿÿÿ