package picture

import (
	"bytes"
	"image"
	"io"
	"strings"

	"tackfree/pkg/fault"
)

// format is a way in which photos are written.
type format struct {
	name   string
	decode func(io.Reader) (image.Image, error)
	config func(io.Reader) (image.Config, error)
	// exif gives the block of what the camera noted, if there is one.
	exif func(file []byte) []byte
	// weight is how many bytes decoding needs for each pixel.
	weight func(file []byte, c image.Config) float64
}

// formatOf tells a photo's format by its beginning; what its name said counts for nothing. Fault:
// PHOTO_FORMAT.
func formatOf(file []byte) (format, error) {
	switch {
	case bytes.HasPrefix(file, []byte("\xff\xd8\xff")):
		return jpegFormat, nil
	case bytes.HasPrefix(file, []byte("\x89PNG\r\n\x1a\n")):
		return pngFormat, nil
	case len(file) >= 12 && string(file[:4]) == "RIFF" && string(file[8:12]) == "WEBP":
		return webpFormat, nil
	case isHEIF(file):
		return format{}, fault.New(fault.Invalid, "PHOTO_FORMAT",
			"This photo is written as HEIC or AVIF, which many screens cannot show. In the phone's camera settings choose the most compatible format, which is JPEG, and take it again; or send this one as JPEG.").At("chunk")
	}
	return format{}, fault.New(fault.Invalid, "PHOTO_FORMAT", "%s Send the photo as JPEG, PNG or WebP.", otherKind(file)).At("chunk")
}

// isHEIF reports the container that HEIC and AVIF have in common.
func isHEIF(file []byte) bool {
	if len(file) < 12 || string(file[4:8]) != "ftyp" {
		return false
	}
	brand := string(file[8:12])
	return strings.HasPrefix(brand, "hei") || strings.HasPrefix(brand, "hev") || strings.HasPrefix(brand, "avi") || brand == "mif1" || brand == "msf1"
}

// otherKind says what else a file is, as far as that can be told.
func otherKind(file []byte) string {
	for _, k := range []struct{ begins, is string }{
		{"GIF8", "This is a GIF."}, {"BM", "This is a BMP picture."}, {"%PDF", "This is a PDF."},
		{"II*\x00", "This is a TIFF or a raw picture."}, {"MM\x00*", "This is a TIFF or a raw picture."},
		{"PK\x03\x04", "This is a ZIP archive or a document."}, {"<", "This is text."},
	} {
		if bytes.HasPrefix(file, []byte(k.begins)) {
			return k.is
		}
	}
	if len(file) >= 8 && string(file[4:8]) == "ftyp" {
		return "This is a film."
	}
	return "This file is no photo that can be read."
}
