
$01a21765-f28f-7471-b10d-091dfdc026e4	materials$01a21765-7c70-78c5-acff-326b4ff22453"	equipment*$01a21765-f28d-7040-b9f8-2b8ff714efee0B∂ì†ÿÄ«∆πJ∂ì†ÿ«‰ÏπRLeadZ$01a21765-f28d-7f15-8a06-10bb4cc43b2d 7
$01a21765-f28d-7040-b9f8-2b8ff714efee	Turbine 2Lead