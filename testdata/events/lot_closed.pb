
$01a2179b-ddbe-794a-81e0-da2fda0f0270	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"product*$01a2179b-dd6c-7671-b009-f99c15029d0e0B„¯ ØÀ‚üJ„¯ Ø£´‚RLeadZ$01a2179b-ddbd-774e-a569-75089166fc35šg
$01a2179b-dd6c-7671-b009-f99c15029d0eAmber stain$01a2179b-dd71-7e56-aba2-2dc726badd56"skinned over