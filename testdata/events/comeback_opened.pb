
$01a21e82-c39f-7b6f-817a-1e72125984c9workflow$01a21e82-8d96-750b-bd05-7e1364b3d5e0"piece*$01a21e82-95bc-7d6e-8a1d-eec7dfa2c7260d:$01a21e82-95bc-7d6e-8a1d-eec7dfa2c726Bв╥╖ью⌠таJв╥╖ь©я┐бROdileZ$01a21e82-c377-74b3-99ad-f10c5f7a2a6aРU
$01a21e82-c391-70bd-9e0b-2a0d80fb25a9в╥╖ью⌠та
joint_loose"the left leg(0