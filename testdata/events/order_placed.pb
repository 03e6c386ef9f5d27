
$01a21765-f1c1-7761-b89b-806caa134830	materials$01a21765-7c70-78c5-acff-326b4ff22453"order*$01a21765-f1c0-7d24-ae7e-b63e983664f50B∂™êÿÄÑ¡”J∂ì†ÿñ’ç‘RLeadZ$01a21765-f1b8-7601-97df-5970c25e2902¢√
$01a21765-f1c0-7d24-ae7e-b63e983664f5$01a21765-f1b7-7888-9eb8-cd72b3e2f385"Abrasives by post*O$01a21765-bda7-76b1-a251-525978cabde6
Steel wool"can(2	
5each:
USD2
USD:ﬂ∏§ÿ