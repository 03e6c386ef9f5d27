
$01a21d0e-6a89-745b-84d1-21a48ddcc6abworkflow$01a21d0d-ba2d-7b9e-9c49-2c704a3f6c2e"piece*$01a21d0d-c30c-7bc0-9143-f504c8b0e14b0':$01a21d0d-c30c-7bc0-9143-f504c8b0e14bB…ù¥Ø€÷ íJ…ù¥Ø€÷ íRLeadZ$01a21d0e-6a83-7aed-a89d-527a511ef85dê¼
$01a21d0e-6a81-77e3-b60f-5c1c626018f7accepted$01a21d0d-bdf4-7d63-8781-48908fd3892b"Jovan*$01a21d0d-be01-7843-8dad-16c31b792e4e2Kirsi:$01a21d0d-c322-7b10-8d7c-a4e062cf565aB
upholstery