
$01a21973-0c9f-7f3d-a4d7-5ac6d624e04bintake$01a21973-02b6-767f-b9cc-de00d6337793"photo*$01a21973-0b59-7af7-bb2a-fdfb59c55a700:$01a21973-0af3-7cd9-9fd3-836b6b5c5320B£ ¢ØÀ¬ïÑJ£ ¢ØÀ¬ïÑRLeadZ$01a21973-0c88-766d-a6f5-fcc4cdfe6f26Ú_
$01a21973-0b59-7af7-bb2a-fdfb59c55a70
during
first coat!
defecta run in the first coat