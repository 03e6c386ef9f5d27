
$01a21dee-131f-7b9c-b231-ef2d3dfd687bsales$01a21dee-0305-7f3f-97f2-4a75bd5932bd"listing*$01a21dee-0aa1-767e-b28d-a6af4f7ed9d90:$01a21dee-0aa1-767e-b28d-a6af4f7ed9d9BÇë¦ØÀ Ù9JÇë¦Ø•°ä9Rmarkdown planš
ê
USDú
USD¬ 