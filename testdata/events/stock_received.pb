
$01a21414-a8de-7805-a419-c5280dbf580c	materials$01a21414-a80f-7c06-8f3c-f9e5145fe202"product*$01a21414-a8a8-7a3d-8df4-577d83f1c9960B√àÕJÀ‡úÿ∑Ÿ÷€ROdileZ$01a21414-a8dc-795d-80a5-bf0b66d01042∫Ñ
$01a21414-a8a8-7a3d-8df4-577d83f1c996Stain-blocking primer$01a21414-a8dd-78af-8415-7e5a1e406bd0"
1.892705892L*
USD)Ä∫¶”