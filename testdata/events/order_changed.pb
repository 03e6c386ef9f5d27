
$01a2179b-de4b-7073-bc32-45bf67589c87	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"order*$01a2179b-de47-7cc8-9de1-09d569ef1cc60Bô’ ØÀøÜÄJ„¯ Ø„øıÄRLeadZ$01a2179b-de49-75a2-973a-f5a7cbfab42dªp
$01a2179b-de47-7cc8-9de1-09d569ef1cc6$01a2179b-de44-78ac-b07b-b62b5840f434"Abrasives by post*part received