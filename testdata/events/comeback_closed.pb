
$01a21e82-c407-76c8-aa50-96662efe2b41workflow$01a21e82-8d96-750b-bd05-7e1364b3d5e0"piece*$01a21e82-95bc-7d6e-8a1d-eec7dfa2c7260g:$01a21e82-95bc-7d6e-8a1d-eec7dfa2c726Bÿ∑ßÿ¿Â®Jÿ∑ßÿÿ›‚ROdileZ$01a21e82-c3f2-7f2c-8dad-b8a8259ff21eäâ
$01a21e82-c391-70bd-9e0b-2a0d80fb25a9refundedÿ∑ßÿ¿Â®"$01a21e82-c3d2-7f40-8780-f0b4d8e611bf"$01a21e82-c3d2-7f41-8ced-cee11a15d95e