
$01a2179b-df11-7842-86bf-a3698aceedef	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"	equipment*$01a2179b-df0f-75cf-af06-4d2b14a47ee00B„¯ Ø€øÎ£J„¯ Øƒ©‹¤RLeadZ$01a2179b-df10-7782-a2ed-746a5059931cÊ7
$01a2179b-df0f-75cf-af06-4d2b14a47ee0	Turbine 2Lead