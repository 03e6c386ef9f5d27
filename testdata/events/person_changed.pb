
$01a2146f-ab5a-7ee9-973e-2d8d4af80809workflow$01a2146f-a8de-71a3-a30c-4809ed972268"person*$01a2146f-a900-742f-a359-7b836465e3ed0B˜Ø¯¢ïÃJ˜Ø¯¢ïÃROdileZ$01a2146f-ab59-79bc-a9ed-0b4bbba142fbŠA
$01a2146f-a900-742f-a359-7b836465e3edJossstripsandfinish