
$01a21de8-d66e-7c90-a08c-24c381664812intake$01a21de8-ceda-784d-a688-cdf9843b948b"commission_terms*$01900000-0000-7000-8000-0000000000050Bðè¦ØÆè³mJðè¦ØÆè³mRLeadZ$01a21de8-d663-7ef1-9659-fa07453185a1’$

USDA5010"0(2	work_done:0