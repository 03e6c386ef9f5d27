
$01a21795-1ec7-7a3f-a33c-ce73db39d0c0	materials$01a21794-b5c3-7adc-a10b-3ceb3555a505"mix*$01a21795-1eb4-7c01-8dc7-e71f02025d100BÊ« Øƒ¼ÛÌJÊ« Øƒ¼ÛÌRLeadZ$01a21795-1ebc-78f0-89e8-9601692ae16cÂ-
$01a21795-1eb4-7c01-8dc7-e71f02025d10twice