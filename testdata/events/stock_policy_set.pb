
$01a2179b-e065-76a1-b692-f7db3d217d3a	materials$01a2179b-e05e-7439-b500-9847b919403d"stock policy*$01900000-0000-7000-8000-0000000000010B…¯ ØÌ—–iJ…¯ ØÌ—–iRLeadZ$01a2179b-e062-7d10-97b6-9d7d956655f7²
moving average