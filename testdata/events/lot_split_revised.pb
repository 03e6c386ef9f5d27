
$01a217fe-269b-705d-9786-f90e23fd8312intake$01a217fe-1e2e-74e4-b8ee-26b0cedb54af"lot*$01a217fe-25c2-7416-b03e-25fe959a331c0BÕïöÿ¿‰ï–J≠·†ÿ’¶£—RLeadZ$01a217fe-2689-7ed6-9f4c-ca3fd264434f∫„
$01a217fe-25c2-7416-b03e-25fe959a331cby_value2
$01a217fe-25c2-742b-8d50-78bf7b4a1606êN
USD-2
$01a217fe-25c2-743f-b8a5-dccfbd2c3052êN
USD-3
$01a217fe-25c2-7446-9632-356a7092d04e†ú
USDZ"the walnut is veneer