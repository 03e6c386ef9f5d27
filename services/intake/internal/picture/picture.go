// Package picture makes of a photo, as a phone or a camera wrote it, a picture and nothing else.
//
//	file ─▶ format ─▶ bounds ─▶ decode ─▶ shrink ─▶ upright ─▶ full, medium, thumbnail: JPEG that is written anew
//	  └─▶ Exif: which way is up, when it was taken       (strips: a large one is written on all processors)
//
// The picture is written anew and the file's own parts are thrown away, rather than cut out one by one:
// what is kept then holds what this program wrote and nothing else, whatever the file hid in segments
// that nobody knows, behind its end, or in a picture within the picture; a photo that lies on its side
// has to be written anew anyway. It costs a little sharpness, which nobody sees at this quality, and
// the colour profile: colours are read as sRGB.
package picture

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"image"
	"image/jpeg"
	"image/png"
	"time"

	"golang.org/x/image/webp"
	"golang.org/x/sync/errgroup"

	"tackfree/pkg/fault"
)

// MostBytes is how long a file may be.
const MostBytes = 25 << 20

// The longer sides, in pixels, of what is shown smaller.
const (
	MediumSide    = 1280
	ThumbnailSide = 320
)

// How well JPEG is written, of 100.
const (
	fullQuality  = 90
	smallQuality = 82
)

// Picture is a cleaned photo: JPEG in three sizes.
type Picture struct {
	Full, Medium, Thumbnail []byte
	Width, Height           int // of Full, in pixels
	exif                    exif
}

// Clean reads a photo. It needs up to 600 MB for a moment, so few may be cleaned at once. Faults, at
// chunk: PHOTO_EMPTY, PHOTO_TOO_BIG, PHOTO_FORMAT, PHOTO_UNREADABLE, PHOTO_TOO_LARGE, PHOTO_TOO_NARROW.
func Clean(file []byte) (Picture, error) {
	if err := checkLength(len(file)); err != nil {
		return Picture{}, err
	}
	f, err := formatOf(file)
	if err != nil {
		return Picture{}, err
	}
	if err := checkBounds(f, file); err != nil {
		return Picture{}, err
	}
	img, err := f.decode(bytes.NewReader(file))
	if err != nil {
		return Picture{}, unreadable(err)
	}
	x := readExif(f.exif(file))
	return print3(img, x)
}

func checkLength(n int) error {
	switch {
	case n == 0:
		return fault.New(fault.Invalid, "PHOTO_EMPTY", "No part of a photo came; send it again.").At("chunk")
	case n > MostBytes:
		return TooBig()
	}
	return nil
}

// TooBig is the fault of a file that is longer than MostBytes: PHOTO_TOO_BIG.
func TooBig() error {
	return fault.New(fault.Invalid, "PHOTO_TOO_BIG",
		"The photo is more than %d MB; choose a smaller picture size in the camera's settings and take it again, or send it reduced.", MostBytes>>20).At("chunk")
}

func unreadable(err error) error {
	return fault.New(fault.Invalid, "PHOTO_UNREADABLE", "The photo cannot be read: it is damaged or did not arrive whole. Send it again, or take it again.").At("chunk").Because(err)
}

// print3 turns a picture upright and writes it in its three sizes, the smaller while the large one is
// written: they are turned when they are small.
func print3(img image.Image, x exif) (Picture, error) {
	p := Picture{exif: x}
	var g errgroup.Group
	g.Go(func() error {
		full := upright(img, x.orientation)
		p.Width, p.Height = full.Bounds().Dx(), full.Bounds().Dy()
		return printed(&p.Full, full, fullQuality)
	})
	g.Go(func() error { return p.printSmall(img, x.orientation) })
	return p, g.Wait()
}

// printSmall averages once for both sizes.
func (p *Picture) printSmall(img image.Image, orientation int) error {
	averaged := reduce(img, MediumSide)
	if err := printed(&p.Thumbnail, upright(shrink(averaged, ThumbnailSide), orientation), smallQuality); err != nil {
		return err
	}
	return printed(&p.Medium, upright(scale(averaged, img.Bounds(), MediumSide), orientation), smallQuality)
}

func printed(to *[]byte, img image.Image, quality int) error {
	var out bytes.Buffer
	err := writeJPEG(&out, img, quality)
	*to = out.Bytes()
	return err
}

// SHA256 is what the full picture comes to, in hexadecimal: the same photo sent twice has the same.
func (p Picture) SHA256() string {
	sum := sha256.Sum256(p.Full)
	return hex.EncodeToString(sum[:])
}

// TakenAt is when it was taken by the camera's clock, which counts as the zone's where the file does
// not say in which it runs; zero if the file says nothing that is a time.
func (p Picture) TakenAt(zone *time.Location) time.Time { return p.exif.takenAt(zone) }

// The formats that are taken.
var jpegFormat = format{name: "JPEG", decode: jpeg.Decode, config: jpeg.DecodeConfig, exif: exifOfJPEG, weight: weightOfJPEG}

var pngFormat = format{name: "PNG", decode: png.Decode, config: png.DecodeConfig, exif: exifOfPNG, weight: weightOfPNG}

var webpFormat = format{name: "WebP", decode: webp.Decode, config: webp.DecodeConfig, exif: exifOfWebP, weight: weightOfWebP}
