
$01a2146f-a906-7144-b20d-db96e08eadfeworkflow$01a2146f-a8de-71a3-a30c-4809ed972268"route*$01a2146f-a905-7762-a858-963970ea061b0B—Ø¿†óƒJ—Ø¿†óƒROdileZ$01a2146f-a904-71d2-afca-035cba62836eÊ}
$01a2146f-a905-7762-a858-963970ea061bpaintedhardware-offclean
scuff-sandprimepainttopcoathardware-oninspect