
$01a21dee-1320-7035-89ea-5582201123a4sales$01a21dee-0305-7f3f-97f2-4a75bd5932bd"listing*$01a21dee-0aa1-767e-b28d-a6af4f7ed9d90:$01a21dee-0aa1-767e-b28d-a6af4f7ed9d9BÇë¦ØÀ Ù9JÇë¦Ø•°ä9Rmarkdown planÚ@

USD¬
USDÜ!markdown plan, step of 2026-11-20"ê