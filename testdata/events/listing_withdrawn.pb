
$01a21dee-14b3-7b18-b73c-73a4718585c4sales$01a21dee-0305-7f3f-97f2-4a75bd5932bd"listing*$01a21dee-0aa1-767e-b28d-a6af4f7ed9d90:$01a21dee-0aa1-767e-b28d-a6af4f7ed9d9BÇë¦Ø€ú¡–JÇë¦ØÏä¦–ROdileZ$01a21dee-14ab-73a1-9bf0-dafe93f4015eú+
Fair
Window
USDÜit goes to a show