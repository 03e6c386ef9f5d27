
$01a21753-ac33-7eef-bca0-f38305c59a79	materials$01a21753-abb5-7f00-9c97-1db6cdda3443"supplier*$01a21753-ac2c-768b-a6bb-966994bee8d90B‰Š Ø“†}J‰Š Ø“†}RLeadZ$01a21753-ac2d-7d7e-8e8f-959d13d06918‚«
$01a21753-ac2c-768b-a6bb-966994bee8d9Paint store$01a21753-abf4-750a-97c0-0797a162f513"Denatured alcohol*	quart can2
0.946352946L:
USD	€Êµî:
USD@