
$01a21e83-1420-7a17-b096-ce1fd01e4606intake$01a21e82-f5d9-70b5-991c-a24dd1fc1368"
letterhead*$01900000-0000-7000-8000-0000000000060BÏ∑ßÿ‡Î≤ëJÏ∑ßÿ‡Î≤ëRLeadZ$01a21e83-13ce-7c0a-b923-ecc4a1ea388dö	
Reedmere Refinishingletter