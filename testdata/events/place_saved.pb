
$01a21765-bd60-7b8c-9a49-91aa87996ddd	materials$01a21765-7c70-78c5-acff-326b4ff22453"place*$01a21765-bd5f-7b55-bf8c-0b83699d8e950B©“ Ø´™Ó”J©“ Ø´™Ó”RLeadZ$01a21765-bd5d-7a52-ab9d-2983b8e5aef9²O
$01a21765-bd5f-7b55-bf8c-0b83699d8e95yellow-cabinetYellow cabinet"cabinet