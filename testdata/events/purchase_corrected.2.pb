
$01a217fe-26c2-77dd-aa1f-103463552ab4intake$01a217fe-1e2e-74e4-b8ee-26b0cedb54af"lot*$01a217fe-25c2-7416-b03e-25fe959a331c0Bí®œØ€ÁÄçJ­á Ø–ô„èRLeadZ$01a217fe-26ba-73a9-b08d-60cdee592795Âò
$01a217fe-25c2-7416-b03e-25fe959a331c
USD´
USDÈ"the premium*2
$01a217fe-25c2-742b-8d50-78bf7b4a1606N
USD2*2
$01a217fe-25c2-743f-b8a5-dccfbd2c3052N
USD2*3
$01a217fe-25c2-7446-9632-356a7092d04e œ
USDd2­›–Ø€ÁÄç