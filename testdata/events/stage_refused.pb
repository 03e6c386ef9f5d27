
$01a21d0e-6a8e-7c25-aa81-c8175a3d094aworkflow$01a21d0d-ba2d-7b9e-9c49-2c704a3f6c2e"piece*$01a21d0d-c30c-7bc0-9143-f504c8b0e14b0(:$01a21d0d-c30c-7bc0-9143-f504c8b0e14bB…ù¥Ø€›‰ñJ…ù¥Ø€›‰ñRLeadZ$01a21d0e-6a8b-70b1-9583-02d4b5114a81âq
$01a21d0d-c322-7b10-8d7c-a4e062cf565a
upholstery$01a21d0d-be01-7843-8dad-16c31b792e4e"Kirsi(2my wrist hurts