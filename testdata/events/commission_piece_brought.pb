
$01a21de8-d6e9-7b82-86d1-a0d62018e07dintake$01a21de8-ceda-784d-a688-cdf9843b948b"
commission*$01a21de8-d694-7e9b-9df4-5d1061ba41340:$01a21de8-d5b6-7bbe-8b25-532f93323a37Bðè¦Ø©Ì€¨Jðè¦Ø©Ì€¨RLeadZ$01a21de8-d6de-7bd1-b4c9-5707bc3871ceº