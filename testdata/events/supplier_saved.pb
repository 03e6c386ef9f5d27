
$01a21753-ac2c-76fe-ba04-677ae8d17e78	materials$01a21753-abb5-7f00-9c97-1db6cdda3443"supplier*$01a21753-ac2c-768b-a6bb-966994bee8d90B‰Š ØñŠ—|J‰Š ØñŠ—|RLeadZ$01a21753-ac2b-7732-8a6e-d91a20678f0dú5
$01a21753-ac2c-768b-a6bb-966994bee8d9Paint store