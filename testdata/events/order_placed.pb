
$01a2179b-de48-780c-9133-fec869295fbb	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"order*$01a2179b-de47-7cc8-9de1-09d569ef1cc60B„ÆØÀæèÂJ„¯ Øş²ÃRLeadZ$01a2179b-de45-7045-8838-abae9dc6db2e¢Ã
$01a2179b-de47-7cc8-9de1-09d569ef1cc6$01a2179b-de44-78ac-b07b-b62b5840f434"Abrasives by post*O$01a2179b-ddc0-7f16-ba51-47509c7d0d0a
Steel wool"can(2	
5each:
USD2
USD:ß¸¤Ø