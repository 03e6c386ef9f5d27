
$01a21611-d357-7547-aabe-7e0e365878a8workflow$01a21611-90f1-7103-8813-2bfed3941f69"piece*$01a21611-9a24-754e-a0c1-54bdb2d45d5d0$:$01a21611-9a24-754e-a0c1-54bdb2d45d5dB ËõÍJ¤åžØ²´ýÊRHeddaZ$01a21611-d355-76e4-85de-d0fb78b23805’U
$01a21611-b182-7e46-82a9-35e4e4d1d2d2$the cane came late; Saturday morningê