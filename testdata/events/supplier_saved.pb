
$01a2179b-dd61-72f7-a287-c9cfd29aa030	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"supplier*$01a2179b-dd61-70cc-9560-7695402cfe7e0B„¯ Ø¨ìÖJ„¯ Ø¨ìÖRLeadZ$01a2179b-dd60-75a9-95e5-c53eec41af65ú7
$01a2179b-dd61-70cc-9560-7695402cfe7eThinner works