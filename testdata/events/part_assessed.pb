
$01a21e99-5d3f-7ab0-a3ad-f30aa386fae4intake$01a21e99-5651-7274-ba1f-49b62c3e88c2"part*$01a21e99-5c5a-7261-8e94-04d196c717fd0:$01a21e99-5c5a-71a3-bc0d-fa10f1a17049B°√ßÿ¿»Á"J°√ßÿ∂ñã#RLeadZ$01a21e99-5d31-7371-ae1e-50badedcb0b3≤	á
$01a21e99-5c5a-7261-8e94-04d196c717fdtopk
veneerwalnut0.7"shellac(8ä@JwornR0
veneer chipto_mend
front edge"a thumb wideZsun-bleached"m
veneerwalnut0.7"shellac(08ä@JwornR0
veneer chipto_mend
front edge"a thumb wideZsun-bleached