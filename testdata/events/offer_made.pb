
$01a21e7d-0ce7-77c2-96b3-5435afee849bsales$01a21e7c-fd44-753a-a2b4-c9af6dd5a027"listing*$01a21e7d-09a1-7131-bf25-2cbd4af96ade0:$01a21e7d-09a1-7131-bf25-2cbd4af96adeBá´§ØÀþÌ¢Já´§ØýÓ€£ROdileZ$01a21e7d-0c17-75d4-b845-4b5109db34b2ÂP
$01a21e7d-0c3d-7d0a-8cc9-8569594e1ec4	R. Okafor
USDú2phone:for the hall