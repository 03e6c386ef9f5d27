
$01a21611-a60d-7631-9f7b-8cde880cb526workflow$01a21611-90f1-7103-8813-2bfed3941f69"piece*$01a21611-99ae-7538-be1c-bd801e1be7ec0:$01a21611-99ae-7538-be1c-bd801e1be7ecBüàáÍJ™åØªÌå/RHeddaZ$01a21611-a60b-762a-931d-c5baee75948dŠ¸
$01a21611-a60d-760c-92c5-b72743234087$01a21611-99ae-756f-9058-6a9c85bb0b07seat"
upholstery*Hollow & Daughter, upholsterers2
USD‘:êB$01a21611-99be-702c-96fd-4c660457186a