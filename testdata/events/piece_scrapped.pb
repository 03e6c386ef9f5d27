
$01a21414-ad3f-7539-83ab-26f687b50d6fintake$01a21414-a7dd-7ac3-815d-fb2e2774c6fa"piece*$01a21414-a906-7368-bb26-3da0be88b6c00:$01a21414-a906-7368-bb26-3da0be88b6c0B๘ยฆอJอเุง—ภ7ROdileZ$01a21414-ad3a-7a16-a91e-bd4e3c215ad9ช+
)the plies have come apart under the paint