
$01a21a60-7848-7e89-a021-d57ac75aa8f8sales$01a21a5e-bd1b-74bd-9e33-3f8367e53604"selling_terms*$ffee2d7b-e2f3-5afc-a30a-75be4cfb1a630Bë™£Øú×¢•Jë™£Øú×¢•ROwnerZ$01a21a60-783c-71b6-a2e0-bc91ea405ddaò<

dresser
USD¼
USDÌ 
USD
USD"
USD€Êµî