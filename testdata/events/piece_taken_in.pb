
$01a21414-a8bd-71e0-8bb9-acebfa9116cdintake$01a21414-a7dd-7ac3-815d-fb2e2774c6fa"piece*$01a21414-a8bd-700e-b701-6db5e346f22d0:$01a21414-a8bd-700e-b701-6db5e346f22dB¸¬ˆÍJËàœØ£…“ÌROdileZ$01a21414-a8ba-75bc-a7ce-76f9703255e2¢ÓeOak sideboard, two doors	sideboard2.
$01a21414-a8bd-7024-9af4-b3c459026ddccase2/
$01a21414-a8bd-703e-ad08-a64aea296df8doors21
$01a21414-a8bd-7044-910d-c46f302bf018drawers"

USDUestate sale