
$01a2179b-dd76-7ada-a271-36e9f1739ddb	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"product*$01a2179b-dd6b-7e29-bd95-d2139e2a326b0B¤‚˜ØÀ¾ÑßJ„¯ ØŽ—ôßRLeadZ$01a2179b-dd75-742a-8919-8d65aac06da1’®
$01a2179b-dd6b-7e29-bd95-d2139e2a326bWalnut stain$01a2179b-dd71-7e3e-8c52-204d176b02ed"$01a2179b-dd76-7a73-a5e8-088fb7f41b42*
1L2$01a2179b-dd6e-74ad-ae7a-f69fb9553b49