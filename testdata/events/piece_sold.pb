
$01a21414-ad69-76fb-8d2b-48e152f36ccdsales$01a21414-a834-7d62-8c99-84ee8f68e507"listing*$01a21414-a8fa-7256-b31a-3c0dd5113d100:$01a21414-a8fa-7256-b31a-3c0dd5113d10Bˆ¥±ÍJÍàœØ‚ê£LROdileZ$01a21414-ad66-7278-8f15-820938671d76â]
$01a21414-ad67-7ed9-94c9-5d312f22a49bdirectM. Achterberg"
USDğ*
USD€¼ı2
USD