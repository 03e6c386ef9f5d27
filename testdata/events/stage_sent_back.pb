
$01a21414-ad2e-7a34-a89d-e057e8a1dc13workflow$01a21414-a84a-7eca-9346-3d09536f3e8f"piece*$01a21414-a8f1-763f-ac2c-89c3d2d6e7df06:$01a21414-a8f1-763f-ac2c-89c3d2d6e7dfBð´¦ÍJÍàœØ“¼Ü0ROdileZ$01a21414-ad2c-760b-a48d-b96c7ff7b099êñ
$01a21414-a8f4-7ba3-828a-2ac701fa096f'runs in the clear coat on the left side6
$01a21414-a8f4-7ba3-828a-2ac701fa096ftopcoat_coat5
$01a21414-a8f4-7ba5-8991-53743c41d235hardware_on1
$01a21414-a8f4-7ba6-82fa-e1ad8c86b69einspect