package printed

import (
	"bytes"
	"image"
	"image/color"
	_ "image/jpeg" // logos come in it
	"image/png"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/draw"

	"tackfree/pkg/fault"
)

// How large a logo may be, in bytes and in pixels, and how much of it is kept.
const (
	MostLogo   = 2 << 20
	mostPixels = 4 << 20
	keptPixels = 1200 // along its longer side: 600 an inch at 50 mm
)

// How large it is printed at most, in millimetres.
const (
	logoWidth  = 50.0
	logoHeight = 22.0
)

var (
	errLogoLarge = fault.New(fault.Invalid, "LOGO_TOO_LARGE", "A logo has at most 2 MB and 4 million pixels. Save it smaller.").At("logo")
	errLogo      = fault.New(fault.Invalid, "LOGO_UNREADABLE", "The logo is no PNG or JPEG that can be read. Save it as one of them.").At("logo")
)

// logo is one as it is printed: opaque, on white, without what its file said beside.
type logo struct {
	file []byte // PNG
	w, h float64
}

// logoOf reads a logo; nil where there is none. Faults: LOGO_TOO_LARGE, LOGO_UNREADABLE.
func logoOf(file []byte) (*logo, error) {
	if len(file) == 0 {
		return nil, nil
	}
	known, format, err := image.DecodeConfig(bytes.NewReader(file))
	switch {
	case len(file) > MostLogo, err == nil && known.Width*known.Height > mostPixels:
		return nil, errLogoLarge
	case err != nil || known.Width < 1 || known.Height < 1 || format != "png" && format != "jpeg":
		return nil, errLogo
	}
	full, _, err := image.Decode(bytes.NewReader(file))
	if err != nil {
		return nil, errLogo
	}
	kept := onWhite(full)
	var b bytes.Buffer
	if err := png.Encode(&b, kept); err != nil {
		return nil, err
	}
	return &logo{file: b.Bytes(), w: float64(kept.Rect.Dx()), h: float64(kept.Rect.Dy())}, nil
}

// onWhite is a picture on paper, with no more pixels than print shows.
func onWhite(full image.Image) *image.RGBA {
	w, h := full.Bounds().Dx(), full.Bounds().Dy()
	if longer := max(w, h); longer > keptPixels {
		w, h = max(1, w*keptPixels/longer), max(1, h*keptPixels/longer)
	}
	kept := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(kept, kept.Rect, image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.CatmullRom.Scale(kept, kept.Rect, full, full.Bounds(), draw.Over, nil)
	return kept
}

// size is how large it is printed.
func (l *logo) size() (w, h float64) {
	scale := min(logoWidth/l.w, logoHeight/l.h)
	return l.w * scale, l.h * scale
}

func (c *canvas) image(l *logo, x, y, w, h float64) {
	options := fpdf.ImageOptions{ImageType: "PNG"}
	c.pdf.RegisterImageOptionsReader("logo", options, bytes.NewReader(l.file))
	c.pdf.ImageOptions("logo", x, y, w, h, false, options, 0, "")
}
