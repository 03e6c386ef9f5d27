package picture

import (
	"bytes"
	"image"
	"image/color"

	"tackfree/pkg/fault"
)

const (
	// mostPixels is more than phones and most cameras take.
	mostPixels = 50_000_000
	// mostMemory is what decoding may need: a file of a few bytes can claim any size.
	mostMemory = 420 << 20
	// narrowest is how many times as long as wide a picture may be; panoramas are about 4 to 10.
	narrowest = 20
)

// checkBounds refuses, before anything is decoded, a picture that would fill the memory or that nobody
// can look at. Faults: PHOTO_UNREADABLE, PHOTO_TOO_LARGE, PHOTO_TOO_NARROW.
func checkBounds(f format, file []byte) error {
	c, err := f.config(bytes.NewReader(file))
	if err != nil {
		return unreadable(err)
	}
	long, short := max(c.Width, c.Height), min(c.Width, c.Height)
	pixels := int64(c.Width) * int64(c.Height)
	switch {
	case short < 1:
		return unreadable(nil)
	case pixels > mostPixels || float64(pixels)*f.weight(file, c) > mostMemory:
		return fault.New(fault.Invalid, "PHOTO_TOO_LARGE",
			"The photo has %d × %d pixels, which is more than can be worked on; choose a smaller picture size in the camera's settings and take it again, or send it reduced.", c.Width, c.Height).At("chunk")
	case long > narrowest*short:
		return fault.New(fault.Invalid, "PHOTO_TOO_NARROW",
			"The photo has %d × %d pixels: it is only a strip. Cut it to what it shows of the piece, or take it again.", c.Width, c.Height).At("chunk")
	}
	return nil
}

// weightOfJPEG: a byte for each sample, and four more where the picture comes in several passes, for
// what was read of it is kept until the last. Of a frame that is not where it should be the worst is
// assumed.
func weightOfJPEG(file []byte, _ image.Config) float64 {
	bytesPerSample, samples := 5.0, 4.0
	eachSegment(file, func(marker byte, body []byte) bool {
		if !isFrame(marker) {
			return true
		}
		if marker != progressive {
			bytesPerSample = 1
		}
		samples = samplesPerPixel(body)
		return false
	})
	return bytesPerSample * samples
}

// progressive is the marker of a frame that comes in several passes.
const progressive = 0xc2

// isFrame reports the markers of frames that are decoded: baseline, extended and progressive.
func isFrame(marker byte) bool { return marker >= 0xc0 && marker <= progressive }

// samplesPerPixel reads from a frame's header how densely each of its components is sampled (ITU-T
// T.81, B.2.2): 3 where all are as dense as the densest, 1.5 as phones have it.
func samplesPerPixel(frame []byte) float64 {
	if len(frame) < 6 || len(frame) < 6+3*int(frame[5]) {
		return 4
	}
	densest, sum := [2]int{1, 1}, 0
	for i := range int(frame[5]) {
		h, v := int(frame[7+3*i]>>4), int(frame[7+3*i]&15)
		densest[0], densest[1] = max(densest[0], h), max(densest[1], v)
		sum += h * v
	}
	return max(1, float64(sum)/float64(densest[0]*densest[1]))
}

func weightOfPNG(_ []byte, c image.Config) float64 {
	switch c.ColorModel {
	case color.RGBA64Model, color.NRGBA64Model:
		return 8
	case color.GrayModel:
		return 1
	case color.Gray16Model:
		return 2
	}
	return 4
}

// weightOfWebP: without loss it is four bytes, and four more while it is put together.
func weightOfWebP([]byte, image.Config) float64 { return 8 }
