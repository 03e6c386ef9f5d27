
$01a21e78-8dd8-7d20-87aa-09a035629355sales$01a21e78-886a-70b4-85fd-dc2286c5267b"	tax_place*$01a21e78-8dd8-7cd0-b176-5627e9669ade0B∫≤ßÿó€™êJ∫≤ßÿó€™êROdileZ$01a21e78-8dd7-7446-8d12-52eea573beca“

Ogdenville6Í