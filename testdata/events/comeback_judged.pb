
$01a21e82-c3f1-70e5-8b7e-eea763c24c2cworkflow$01a21e82-8d96-750b-bd05-7e1364b3d5e0"piece*$01a21e82-95bc-7d6e-8a1d-eec7dfa2c7260f:$01a21e82-95bc-7d6e-8a1d-eec7dfa2c726Bÿ∑ßÿèØÅJÿ∑ßÿèØÅROdileZ$01a21e82-c3e1-7ba2-86d3-e805d6c2cce8Ç5
$01a21e82-c391-70bd-9e0b-2a0d80fb25a9piecelikely