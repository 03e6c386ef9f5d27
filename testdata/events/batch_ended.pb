
$01a21611-a77c-7cae-a3cf-7c46d64eaa51workflow$01a21611-90f1-7103-8813-2bfed3941f69"batch*$01a21611-a6a6-7a90-a3c0-e952ea44ea5d0Bâ¸åÍJ™åžØ«´ôÚRHeddaZ$01a21611-a772-74e4-a203-3e1c31526c4f¢(
$01a21611-a6a6-7a90-a3c0-e952ea44ea5d