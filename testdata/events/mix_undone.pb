
$01a2179b-ddae-71fc-b6db-cb6564f9c68d	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"mix*$01a2179b-dda1-7ca2-9ed8-66e41b1e62900B„¯ Ø‚ºŸ÷J„¯ Ø‚ºŸ÷RLeadZ$01a2179b-dda5-7e23-94c3-f3822e429458Â-
$01a2179b-dda1-7ca2-9ed8-66e41b1e6290twice