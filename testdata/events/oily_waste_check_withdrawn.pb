
$01a2179b-df15-7677-ba0f-15e9f4698b31	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"oily waste check*$01a2179b-df13-7646-86a3-d4b0ca267dc60BÑØ†ÿêøÎ•JÑØ†ÿêøÎ•RLeadZ$01a2179b-df14-750b-9600-f233ded6f2d1“=
$01a2179b-df13-7646-86a3-d4b0ca267dc6one can was forgotten