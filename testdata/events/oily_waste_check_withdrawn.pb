
$01a21795-1ff7-75de-9a7d-5592a8917fb4	materials$01a21794-b5c3-7adc-a10b-3ceb3555a505"oily waste check*$01a21795-1ff0-77e0-b346-31b4e92d11f10BÊ« Ø¶ÏÜßJÊ« Ø¶ÏÜßRLeadZ$01a21795-1ff1-71e4-ae0b-976a906125a1Ò=
$01a21795-1ff0-77e0-b346-31b4e92d11f1one can was forgotten