
$01a2179b-dd65-77a5-99ee-ee443ecfd266	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"supplier*$01a2179b-dd61-70cc-9560-7695402cfe7e0B„¯ Ø·×ä×J„¯ Ø·×ä×RLeadZ$01a2179b-dd64-7286-809d-d228bd19d167Šw
$01a2179b-dd61-70cc-9560-7695402cfe7eThinner works$01a2179b-dd5b-7832-84f1-c4f69707c5f5"Shellac thinner*	quart can