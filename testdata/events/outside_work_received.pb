
$01a21611-ca29-7315-93c4-fc0086ed12ecworkflow$01a21611-90f1-7103-8813-2bfed3941f69"piece*$01a21611-99ae-7538-be1c-bd801e1be7ec0$:$01a21611-99ae-7538-be1c-bd801e1be7ecB„ÂðÍJ¢åžØµ¥Ü£RHeddaZ$01a21611-ca26-7c11-8fb0-28077eb628b1š…
$01a21611-a60d-760c-92c5-b72743234087
upholsteryHollow & Daughter, upholsterers"
USD‘2$01a21611-99be-702c-96fd-4c660457186a8