package bench

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/jpeg"
	"time"

	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// photo keeps one of 24 million pixels, as a camera takes it.
func (b *adviceBench) photo(ctx context.Context, _ Options, r *Advice) error {
	file, err := picture(6000, 4000)
	if err != nil {
		return err
	}
	if err := forgetPeak(); err != nil {
		return err
	}
	before, err := peak()
	if err != nil {
		return err
	}
	began := time.Now()
	stream, err := b.Shop.Photos.UploadPhoto(ctx)
	if err != nil {
		return err
	}
	header := &intakev1.UploadPhotoRequest_Header{Piece: b.piece, Moment: intakev1.Photo_MOMENT_BEFORE}
	for request := id.New().String(); len(file) > 0; header = nil {
		n := min(len(file), 256<<10)
		if err := stream.Send(&intakev1.UploadPhotoRequest{RequestId: request, Chunk: file[:n], Header: header}); err != nil {
			break // why not, the answer says
		}
		file = file[n:]
	}
	if _, err := stream.CloseAndRecv(); err != nil {
		return err
	}
	r.PhotoMs = float64(time.Since(began).Milliseconds())
	most, err := peak()
	r.PhotoMB = most - before
	return err
}

// picture is a made-up JPEG with as much in it as a photo has.
func picture(wide, high int) ([]byte, error) {
	m := image.NewRGBA(image.Rect(0, 0, wide, high))
	for y := range high {
		for x := range wide {
			grain := uint8((x*7919 + y*104729) >> 7 & 31)
			m.SetRGBA(x, y, color.RGBA{uint8(x*255/wide) ^ grain, uint8(y*255/high) ^ grain, 90 + grain, 255})
		}
	}
	var out bytes.Buffer
	err := jpeg.Encode(&out, m, &jpeg.Options{Quality: 90})
	return out.Bytes(), err
}
