
$01a21753-ac37-7ccb-bc10-266c65be4ac6	materials$01a21753-abb5-7f00-9c97-1db6cdda3443"supplier*$01a21753-ac2c-768b-a6bb-966994bee8d90B‰Š ØÙÂ•J‰Š ØÙÂ•RLeadZ$01a21753-ac36-7519-b195-76c0cda0f2a2Šw
$01a21753-ac2c-768b-a6bb-966994bee8d9Paint store$01a21753-abf4-750a-97c0-0797a162f513"Denatured alcohol*	quart can