
$01a21a60-7879-75c1-a9e0-4fc4eeea4094intake$01a21a5e-bb8a-76c0-b93c-9ea825f7b48d"prospect*$01a21a60-7877-7474-bf42-25da0e26fc630Bë™£Ø€°õ¡Jë™£Ø¾®ˆ¢ROwnerZ$01a21a60-7854-7c31-9fcf-4dbfb751706eâBdresser
USDx"
USD•üÿÿÿÿÿÿÿ€û™ðýÿÿÿÿ*no2estate sale