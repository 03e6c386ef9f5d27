
$01a2179b-dd6e-7983-8e47-be7de29a7e66	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"place*$01a2179b-dd6e-74ad-ae7a-f69fb9553b490B„¯ Ø¨ð¸ÜJ„¯ Ø¨ð¸ÜRLeadZ$01a2179b-dd6d-7938-b881-f7111eda1e84²O
$01a2179b-dd6e-74ad-ae7a-f69fb9553b49yellow-cabinetYellow cabinet"cabinet