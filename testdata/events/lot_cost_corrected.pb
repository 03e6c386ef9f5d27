
$01a2179b-ddbc-7227-a290-0408905d0466	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"product*$01a2179b-dd6c-7671-b009-f99c15029d0e0B„Ê—Ø€¨ ÝJ„¯ ØŒÙ¯€RLeadZ$01a2179b-ddb9-7168-94f1-c43ef188e2ce‚‚
$01a2179b-dd6c-7671-b009-f99c15029d0eAmber stain$01a2179b-dd71-7e56-aba2-2dc726badd56"
USD5€ªêU*
USD02the bill says so