
$01a21e83-165b-75fc-8db5-72f086540f72intake$01a21e82-f5d9-70b5-991c-a24dd1fc1368"
commission*$01a21e83-1430-7e73-a6f7-bbf5f51d9aa30:$01a21e83-060d-735d-8c2f-675977178ef0BÏ∑ßÿ”Ÿ‚¢JÏ∑ßÿ”Ÿ‚¢RLeadZ$01a21e83-14dd-78f9-a48d-37c926ba3931í	paid in kind