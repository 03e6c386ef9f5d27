
$01a2179b-dd62-7ccc-b83f-81c348db35d5	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"supplier*$01a2179b-dd61-70cc-9560-7695402cfe7e0B„¯ Ø‰ûÞÖJ„¯ Ø‰ûÞÖRLeadZ$01a2179b-dd61-7c40-ae28-6ac86db5a692‚«
$01a2179b-dd61-70cc-9560-7695402cfe7eThinner works$01a2179b-dd5b-7832-84f1-c4f69707c5f5"Shellac thinner*	quart can2
0.946352946L:
USD	€Êµî:
USD@