
$01a21534-a54d-75ab-bada-6d47e9fbf90eworkflow$01a21534-a500-7dd8-a66b-b6834a9849b8"piece*$01a21534-a546-74a0-adb0-9019ae90a8750:$01a21534-a546-74a0-adb0-9019ae90a875B°­ˆÍJ…ôØüÛ¢×ROdileZ$01a21534-a54a-7055-aabe-702aac2ca57d¢2
$01a21534-a54c-738e-b77f-77e7a9882265lead"free