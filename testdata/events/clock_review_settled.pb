
$01a21611-b116-73b8-be97-9b1c613c61c3workflow$01a21611-90f1-7103-8813-2bfed3941f69"person*$01a21611-9903-705f-b45f-b21d844f1a130B›åØÆÚ¶J›åØÆÚ¶RHeddaZ$01a21611-b109-7a59-a85d-0eef9d926a90ú^
$01a21611-b0fd-73a1-9cb3-4cf390b74d88accepted,she fetched the solvent and forgot to say so