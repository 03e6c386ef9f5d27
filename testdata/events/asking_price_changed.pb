
$01a21414-ad81-77fb-8218-47e6652c15bfsales$01a21414-a834-7d62-8c99-84ee8f68e507"listing*$01a21414-a8d1-71df-8764-d6ca3c9c42030:$01a21414-a8d1-71df-8764-d6ca3c9c4203Bà™àÍJÍàœØ÷‰¯XROdileZ$01a21414-ad80-7322-9ed1-e7ce05c92f11Ú.

USD‰
USDësecond week on the floor