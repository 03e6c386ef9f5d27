
$01a21414-ad14-78bf-b9b0-be1eed0d3c84sales$01a21414-a834-7d62-8c99-84ee8f68e507"listing*$01a21414-a8bd-700e-b701-6db5e346f22d0:$01a21414-a8bd-700e-b701-6db5e346f22dBртўНJНањШ‰М©#ROdileZ$01a21414-ad10-7155-b952-608ecbc21f51Т
online market
USDЂ