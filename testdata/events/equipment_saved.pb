
$01a2179b-df0f-762f-acf8-7ce9f5573e32	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"	equipment*$01a2179b-df0f-75cf-af06-4d2b14a47ee00B„¯ Ø’ˆ©£J„¯ Ø’ˆ©£RLeadZ$01a2179b-df0d-7f40-97bc-1f9a8f2b0d97ÂS
$01a2179b-df0f-75cf-af06-4d2b14a47ee0	Turbine 2sprayer"
USD(22topcoat_coat