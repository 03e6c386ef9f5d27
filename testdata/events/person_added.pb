
$01a21414-a870-7027-a29b-c3131948da16workflow$01a21414-a84a-7eca-9346-3d09536f3e8f"person*$01a21414-a86f-7f0c-8354-81b7f3489dbf0BËàœØð‹¶§JËàœØð‹¶§ROdileZ$01a21414-a866-7c7a-a6fb-c0b42df8ef50ÂZ
$01a21414-a86f-7f0c-8354-81b7f3489dbfOdilestripsandsprayrepairfinishinspect