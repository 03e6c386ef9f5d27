
$01a21973-0cb2-7eca-a202-e215c7ac0cf9intake$01a21973-02b6-767f-b9cc-de00d6337793"photo*$01a21973-0b59-7af7-bb2a-fdfb59c55a700:$01a21973-0af3-7cd9-9fd3-836b6b5c5320B¤ ¢Ø€ÈÐJ¤ ¢Ø€ÈÐRLeadZ$01a21973-0caf-7451-ad87-e1f9720e82c5Ò/
$01a21973-0b59-7af7-bb2a-fdfb59c55a70blurred