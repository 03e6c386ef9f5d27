
$01a21765-f1cb-7b01-a611-23f35fee5154	materials$01a21765-7c70-78c5-acff-326b4ff22453"order*$01a21765-f1c0-7d24-ae7e-b63e983664f50B¦÷ŸØÀÇÔÚJ¶“ Ø‹¶‚ÛRLeadZ$01a21765-f1c7-77c3-bd50-d86f54ef4b8dªp
$01a21765-f1c0-7d24-ae7e-b63e983664f5$01a21765-f1b7-7888-9eb8-cd72b3e2f385"Abrasives by post*part received