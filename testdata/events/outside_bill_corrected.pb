
$01a21611-da57-7d23-b0b2-b2648618cbacworkflow$01a21611-90f1-7103-8813-2bfed3941f69"piece*$01a21611-9a24-754e-a0c1-54bdb2d45d5d0+:$01a21611-9a24-754e-a0c1-54bdb2d45d5dB¦åžØÓ•ˆèJ¦åžØ´™ˆèRHeddaZ$01a21611-da55-7731-88de-2746d1852c5f¢^
$01a21611-b182-7e46-82a9-35e4e4d1d2d2
USDp€Êµî
USDy€Êµî"a second skein of cane(