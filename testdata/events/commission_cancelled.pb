
$01a21de8-d778-7cdd-9c7a-9b8bbfa4bffcintake$01a21de8-ceda-784d-a688-cdf9843b948b"
commission*$01a21de8-d694-7e9b-9df4-5d1061ba41340:$01a21de8-d5b6-7bbe-8b25-532f93323a37Bðè¦Ø€¾ºÄJðè¦Ø§³îÄRLeadZ$01a21de8-d71b-79ff-8e9f-f8ac7c43091e²moving away
USD"
USD