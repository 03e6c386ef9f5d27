
$01a21e78-8df7-7dce-bf19-fcc8655769b4sales$01a21e78-886a-70b4-85fd-dc2286c5267b"	tax_place*$01a21e78-8dd8-7cd0-b176-5627e9669ade0Bº²§Ø‡‚€˜Jº²§Ø‡‚€˜ROdileZ$01a21e78-8de6-7c7c-93b9-b480aefee808Ú

Ogdenville