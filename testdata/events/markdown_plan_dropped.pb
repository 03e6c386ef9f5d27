
$01a21dee-0bc2-75f4-8b4a-f46f60ec3a3esales$01a21dee-0305-7f3f-97f2-4a75bd5932bd"listing*$01a21dee-0b43-7769-8219-7be5888352740:$01a21dee-0b43-7769-8219-7be588835274BΕλ¦Ψυκ‹JΕλ¦Ψυκ‹ROdileZ$01a21dee-0bb5-77cb-8fe4-a986f809b6bc’
it sells as it is