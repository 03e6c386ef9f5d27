
$01a21414-a89f-733e-ac73-1ea180bd08c7workflow$01a21414-a84a-7eca-9346-3d09536f3e8f"route*$01a21414-a89e-78be-b91b-bba54189f8ae0BËàœØ‚×Ñ½JËàœØ‚×Ñ½ROdileZ$01a21414-a89c-70d7-a0b8-50781e5b70a2Ê}
$01a21414-a89e-78be-b91b-bba54189f8aehardware-offclean
scuff-sandprimepainttopcoathardware-oninspectpainted