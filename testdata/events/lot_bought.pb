
$01a217fe-261a-7928-978d-6282cbd4b034intake$01a217fe-1e2e-74e4-b8ee-26b0cedb54af"lot*$01a217fe-25c2-7416-b03e-25fe959a331c0B­›–Ψ€ά©πJ­α ΨΌ΄ρRLeadZ$01a217fe-25c0-76be-87b4-71b1d237dfb4²
$01a217fe-25c2-7416-b03e-25fe959a331c
USD΄house clearance"κ*by_value2
takes_over:8
$01a217fe-25c2-742b-8d50-78bf7b4a1606π.
USD€Η½Ώ:8
$01a217fe-25c2-743f-b8a5-dccfbd2c3052¨Γ
USDo€οΉ4:7
$01a217fe-25c2-7446-9632-356a7092d04eJ
USD*€ήσh