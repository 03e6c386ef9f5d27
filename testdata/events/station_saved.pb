
$01a21611-98ef-7cd7-a422-3c8924e24683workflow$01a21611-90f1-7103-8813-2bfed3941f69"station*$01a21611-98ef-731f-b0c2-373973cf3a880B•åžØÆÆ±âJ•åžØÆÆ±âRHeddaZ$01a21611-98ee-7146-9623-bffc17f95143ÚV
$01a21611-98ef-731f-b0c2-373973cf3a88bench-northNorth bench room"bench(
2pieces