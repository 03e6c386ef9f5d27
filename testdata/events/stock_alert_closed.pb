
$01a21765-f275-7139-8b7e-bb45255d8b32	materials$01a21765-7c70-78c5-acff-326b4ff22453"alert*$01a21765-f1a9-7144-a5fc-7a91d4f287bc0B¶“ ØÀ²è©J¶“ ØÀ²è©Ralertsš³
$01a21765-f1a9-7144-a5fc-7a91d4f287bcbelow threshold$01a21765-bda7-76b1-a251-525978cabde6"T0 each of Steel wool is left, and 2 each is the mark. Order some, or lower the mark.