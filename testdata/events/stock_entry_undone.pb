
$01a21795-1e97-7efe-9b14-6ad1fcbaa033	materials$01a21794-b5c3-7adc-a10b-3ceb3555a505"piece*$01a21794-c3a8-73d6-85ff-95758bd6d1a80:$01a21794-c3a8-73d6-85ff-95758bd6d1a8BÊ« Ø³ÕÕ¹JÊ« Ø³ÕÕ¹RLeadZ$01a21795-1e94-7a75-b785-760636261d87º´
$01a21795-1e92-7594-b245-1ceeb734caf0waste$01a21795-1e37-785b-8fcd-87613d1b2db1"Walnut stain*30 mL, not 3002
USD€®™µ:$01a21794-c3ba-70eb-b100-b67a3ff10b38B
scuff_sandH