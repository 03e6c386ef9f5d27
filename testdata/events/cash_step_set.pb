
$01a21e78-8e2b-70b1-bac3-68f5a356d5f6sales$01a21e78-886a-70b4-85fd-dc2286c5267b"	cash_step*$ac32e188-4510-5497-961d-e2c2346dd0dd0Bº²§ØìÏð¢Jº²§ØìÏð¢ROdileZ$01a21e78-8dfd-784c-ad84-8a3f5ff44bb7ò


USD€áë