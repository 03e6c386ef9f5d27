
$01a21e7d-1005-75b9-b542-893b43176885sales$01a21e7c-fd44-753a-a2b4-c9af6dd5a027"listing*$01a21e7d-09a1-7131-bf25-2cbd4af96ade0:$01a21e7d-09a1-7131-bf25-2cbd4af96adeB‚¥ßÿ¿’á	J‚¥ßÿãÈ¿	ROdileZ$01a21e7d-0ee2-75ae-874f-8214714a748b =
$01a21e7d-0c3d-7d0a-8cc9-8569594e1ec4	R. Okafor*
USDò