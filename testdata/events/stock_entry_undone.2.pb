
$01a2179b-dd8d-7e3f-8cc6-9a467da85b27	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"piece*$01a2179b-a747-7d8f-9c80-07893e9622740:$01a2179b-a747-7d8f-9c80-07893e962274B„¯ Øž‰ÆêJ„¯ Øž‰ÆêRLeadZ$01a2179b-dd8a-7c32-9998-63407d53a6c2ºù
$01a2179b-dd89-7ac2-aa8b-17a71b74a1e3waste$01a2179b-dd6b-7e29-bd95-d2139e2a326b"Walnut stain*30 mL, not 3002
USD€®™µ:$01a2179b-a757-732f-8acc-99e543800aa1B
scuff_sandHRC
$01a2179b-dd89-7ac2-aa8b-17a71b74a1e3Ô˜œØž‰Æê
USD€®™µ