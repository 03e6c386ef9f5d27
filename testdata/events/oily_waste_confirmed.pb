
$01a2179b-df13-7678-bfd0-a264bf8ef7b0	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"oily waste check*$01a2179b-df13-7646-86a3-d4b0ca267dc60B„¯ ØÀ…†¥J„¯ Øë‹Ÿ¥RLeadZ$01a2179b-df12-78e0-931e-103016b4bfa2º<
$01a2179b-df13-7646-86a3-d4b0ca267dc6metal can with water