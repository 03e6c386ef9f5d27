package picture

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/jpeg"
	"io"

	"golang.org/x/sync/errgroup"
)

// A large picture is written in strips, each on a processor of its own, with restart markers between
// them (ITU-T T.81, E.1.4): at such a marker a JPEG begins to count anew, so that the strips of one
// size, written each as a picture, are one picture when they stand behind one another.
//
//	picture ─▶ strip ─▶ JPEG: head, scan ─▶ head of the first with the whole height, scans with markers between
//
// How many there are follows from the picture alone, so that the same picture is the same file on every
// machine.
const (
	stripPixels = 3_000_000
	// mostUnits is how many units a restart interval can have: it is written in 16 bits.
	mostUnits = 1<<16 - 1
)

// writeJPEG writes a picture as JPEG.
func writeJPEG(to io.Writer, img image.Image, quality int) error {
	strips := cut(img)
	if len(strips) == 1 {
		return jpeg.Encode(to, img, &jpeg.Options{Quality: quality})
	}
	files := make([]bytes.Buffer, len(strips))
	var g errgroup.Group
	for i, strip := range strips {
		g.Go(func() error { return jpeg.Encode(&files[i], strip, &jpeg.Options{Quality: quality}) })
	}
	if err := g.Wait(); err != nil {
		return err
	}
	return join(to, files, img.Bounds().Dy(), unitsOf(strips[0]))
}

// unitSide is the side, in pixels, of what the encoder writes at once: one block of brightness, or four
// with one each of the colours.
func unitSide(img image.Image) int {
	if _, grey := img.(*image.Gray); grey {
		return 8
	}
	return 16
}

// unitsOf is how many units a strip has.
func unitsOf(strip image.Image) int {
	side, b := unitSide(strip), strip.Bounds()
	return (b.Dx() + side - 1) / side * ((b.Dy() + side - 1) / side)
}

// cut makes strips of a picture, all of as many whole rows of units, but the last: itself if it is
// small, or of a kind that cannot be cut.
func cut(img image.Image) (strips []image.Image) {
	whole, ok := img.(interface {
		SubImage(r image.Rectangle) image.Image
	})
	b, side := img.Bounds(), unitSide(img)
	perRow := (b.Dx() + side - 1) / side
	rows := min(stripPixels/(side*b.Dx()), mostUnits/perRow)
	if !ok || b.Dx()*b.Dy() <= stripPixels || rows < 1 {
		return []image.Image{img}
	}
	for top := b.Min.Y; top < b.Max.Y; top += rows * side {
		strips = append(strips, whole.SubImage(image.Rect(b.Min.X, top, b.Max.X, min(top+rows*side, b.Max.Y))))
	}
	return strips
}

// join writes strips as one picture of that height, with so many units between markers.
func join(to io.Writer, strips []bytes.Buffer, height, units int) error {
	out := bytes.NewBuffer(nil)
	for i, strip := range strips {
		head, scan := apart(strip.Bytes())
		if i == 0 {
			head, begin := withHeight(head, height)
			out.Write(head[:begin])
			out.Write(binary.BigEndian.AppendUint16([]byte{0xff, 0xdd, 0, 4}, uint16(units))) // the restart interval
			out.Write(head[begin:])
		} else {
			out.Write([]byte{0xff, 0xd0 + byte((i-1)%8)})
		}
		out.Write(scan)
	}
	out.Write([]byte{0xff, 0xd9}) // the end of the image
	_, err := out.WriteTo(to)
	return err
}

// apart gives all of a JPEG up to its scan, and the scan without the end of the image.
func apart(file []byte) (head, scan []byte) {
	begin := beginOfScan(file)
	begin += 2 + int(binary.BigEndian.Uint16(file[begin+2:]))
	return file[:begin], file[begin : len(file)-2]
}

// withHeight writes the height into a head, and says where its scan's own header begins.
func withHeight(head []byte, height int) (_ []byte, begin int) {
	eachSegment(head, func(marker byte, body []byte) bool {
		if isFrame(marker) {
			binary.BigEndian.PutUint16(body[1:], uint16(height))
		}
		return true
	})
	return head, beginOfScan(head)
}

// beginOfScan is where the marker of the scan is.
func beginOfScan(file []byte) int {
	at := 2
	eachSegment(file, func(_ byte, body []byte) bool {
		at += 4 + len(body)
		return true
	})
	return at
}
