
$01a21765-838a-78f5-99f7-b1ebae0eb6f4	materials$01a21765-7c70-78c5-acff-326b4ff22453"alert*$01a21765-8389-723b-992b-33a65b2501000Bš“ Ø€¦ÍêJš“ Ø€¦ÍêRalerts’¼
$01a21765-8389-723b-992b-33a65b250100below threshold$01a21765-7e2c-7ea9-a68b-990c9f469506"]16 each of Sanding discs 150 is left, and 20 each is the mark. Order some, or lower the mark.