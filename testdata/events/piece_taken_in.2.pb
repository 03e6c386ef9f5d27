
$01a21a5e-abff-7481-97da-84dfab24722aintake$01a21a5e-9d39-7d2d-8581-1dae0749916d"piece*$01a21a5e-abe8-790f-8413-2e809ec4bc8d0:$01a21a5e-abe8-790f-8413-2e809ec4bc8dBõ˜£Ø€ğùŞJõ˜£ØàßROwnerZ$01a21a5e-aaa8-7236-90de-d5721253e32f¢—Oak dresserdresser2-
$01a21a5e-abef-73fe-b1d6-437ec434b43atop2.
$01a21a5e-abef-7401-83eb-2bec2aa24b23side26
$01a21a5e-abef-7402-83a6-c728d1e7af4edrawer front	25
$01a21a5e-abef-7403-8b57-61ab35884ee6front frame:largeBdamaged"

USDnestate saleê