package picture

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
	"testing"
)

var ratios = []image.YCbCrSubsampleRatio{image.YCbCrSubsampleRatio444, image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio420,
	image.YCbCrSubsampleRatio440, image.YCbCrSubsampleRatio411, image.YCbCrSubsampleRatio410}

// grain is a picture in which no two places are alike.
func grain(w, h int, ratio image.YCbCrSubsampleRatio) *image.YCbCr {
	r := rand.New(rand.NewPCG(1, 2))
	m := image.NewYCbCr(image.Rect(0, 0, w, h), ratio)
	for _, plane := range [][]byte{m.Y, m.Cb, m.Cr} {
		for i := range plane {
			plane[i] = uint8(r.Uint32())
		}
	}
	return m
}

// What is written in strips is, sample by sample, what the library writes at once.
func TestWriteJPEG_StripsAreOnePicture(t *testing.T) {
	grey := image.NewGray(image.Rect(0, 0, 2500, 2601))
	for i := range grey.Pix {
		grey.Pix[i] = uint8(i * 31 / 7)
	}
	rgba := image.NewRGBA(image.Rect(0, 0, 2001, 3003))
	for i := range rgba.Pix {
		rgba.Pix[i] = uint8(i*37/11) | 255*uint8(i%4/3)
	}
	pictures := map[string]image.Image{"grey": grey, "RGBA": rgba, "turned": upright(grain(3000, 2000, image.YCbCrSubsampleRatio420), 6)}
	for _, ratio := range ratios {
		pictures[ratio.String()] = grain(2001, 3003, ratio)
	}
	for name, img := range pictures {
		t.Run(name, func(t *testing.T) {
			var got, want bytes.Buffer
			if err := writeJPEG(&got, img, fullQuality); err != nil {
				t.Fatal(err)
			}
			if err := jpeg.Encode(&want, img, &jpeg.Options{Quality: fullQuality}); err != nil {
				t.Fatal(err)
			}
			if n := len(cut(img)); n < 2 || bytes.Count(got.Bytes(), []byte("\xff\xdd\x00\x04")) != 1 {
				t.Fatalf("%d strips, want several in one picture", n)
			}
			if same, at := alike(decoded(t, got.Bytes()), decoded(t, want.Bytes())); !same {
				t.Errorf("the strips differ from one picture at %v", at)
			}
		})
	}
}

func alike(a, b image.Image) (bool, image.Point) {
	if a.Bounds() != b.Bounds() {
		return false, a.Bounds().Size()
	}
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			if a.At(x, y) != b.At(x, y) {
				return false, image.Pt(x, y)
			}
		}
	}
	return true, image.Point{}
}

// A restart interval is written in 16 bits; a very wide picture gets more strips.
func TestCut_NoMoreUnitsThanAnIntervalHas(t *testing.T) {
	for _, size := range []image.Point{{2000, 1500}, {2001, 1500}, {6000, 4000}, {30_000, 1600}, {1600, 30_000}, {7071, 7071}} {
		img := &image.YCbCr{Rect: image.Rectangle{Max: size}, SubsampleRatio: image.YCbCrSubsampleRatio420,
			Y: make([]byte, size.X*size.Y), Cb: make([]byte, size.X*size.Y), Cr: make([]byte, size.X*size.Y), YStride: size.X, CStride: size.X}
		strips, height := cut(img), 0
		for i, s := range strips {
			height += s.Bounds().Dy()
			if units := unitsOf(s); len(strips) > 1 && units > mostUnits || i > 0 && units > unitsOf(strips[0]) {
				t.Errorf("%v: strip %d has %d units", size, i, units)
			}
			if i < len(strips)-1 && s.Bounds().Dy()%16 != 0 {
				t.Errorf("%v: strip %d ends within a unit", size, i)
			}
		}
		if height != size.Y || (len(strips) == 1) != (size.X*size.Y <= stripPixels) {
			t.Errorf("%v: %d strips of %d rows in all", size, len(strips), height)
		}
	}
}

// Turned plane by plane every pixel has the colour that it had, whatever colours the camera samples.
func TestUpright_PlanesToThePixel(t *testing.T) {
	for _, size := range []image.Point{{80, 48}, {81, 48}, {80, 47}, {7, 3}, {1, 1}} {
		for _, ratio := range ratios {
			for orientation := 1; orientation <= 8; orientation++ {
				img := grain(size.X, size.Y, ratio)
				out := upright(img, orientation)
				t.Run(fmt.Sprint(size, ratio, orientation), func(t *testing.T) { moved(t, img, out, orientation) })
			}
		}
	}
}

func moved(t *testing.T, img, out image.Image, orientation int) {
	t.Helper()
	w, h := img.Bounds().Dx(), img.Bounds().Dy()
	origin, right, down := steps(orientation, w, h, out.Bounds().Dx(), 1)
	for y := range h {
		for x := range w {
			at := origin + x*right + y*down
			got := color.RGBAModel.Convert(out.At(at%out.Bounds().Dx(), at/out.Bounds().Dx()))
			if want := color.RGBAModel.Convert(img.At(x, y)); got != want {
				t.Fatalf("pixel (%d, %d) = %v, want %v", x, y, got, want)
			}
		}
	}
}

// Averaged plane by plane a picture is what it is averaged pixel by pixel; colour, which is averaged
// before it is mixed, may be a step or two off.
func TestAverage_PlanesAsPixels(t *testing.T) {
	for _, ratio := range ratios {
		for _, k := range []int{2, 4, 8, 16} {
			m := grain(160, 96, ratio)
			for i := range m.Cb { // away from what no screen shows
				m.Cb[i], m.Cr[i] = 120+m.Cb[i]%16, 120+m.Cr[i]%16
			}
			for i := range m.Y {
				m.Y[i] = 60 + m.Y[i]%128
			}
			pixels := image.NewRGBA(m.Rect)
			rows(m, func(y int, row []byte) { copy(pixels.Pix[y*pixels.Stride:], row) })
			got, want := average(m, k), average(pixels, k)
			for y := range want.Bounds().Dy() {
				for x := range want.Bounds().Dx() {
					g, w := color.RGBAModel.Convert(got.At(x, y)).(color.RGBA), want.At(x, y).(color.RGBA)
					if max(apart8(g.R, w.R), apart8(g.G, w.G), apart8(g.B, w.B)) > 3 {
						t.Fatalf("%v by %d at (%d, %d) = %v, want %v", ratio, k, x, y, g, w)
					}
				}
			}
		}
	}
}

func apart8(a, b uint8) uint8 { return max(a, b) - min(a, b) }

// A photo of 24 million pixels as a phone takes it on its side: in all, and up to its thumbnail.
func BenchmarkClean_24Megapixels(b *testing.B) {
	block := notes{order: binary.BigEndian, orientation: 6}.block()
	file := with(asJPEG(b, phone(6000, 4000)), segment(0xe1, append(bytes.Clone(exifMark), block...)))
	b.Logf("%d bytes", len(file))
	b.Run("all", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			clean(b, file)
		}
	})
	b.Run("thumbnail", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			img, err := jpeg.Decode(bytes.NewReader(file))
			if err != nil {
				b.Fatal(err)
			}
			var p Picture
			if err := p.printSmall(img, 6); err != nil || len(p.Thumbnail) == 0 {
				b.Fatal(err)
			}
		}
	})
}

// phone is a picture with about as much in it as a photo has: broad light, grain, and edges.
func phone(w, h int) image.Image {
	m := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
	r := rand.New(rand.NewPCG(3, 4))
	for y := range h {
		for x := range w {
			m.Y[y*m.YStride+x] = uint8(80 + 60*x/w + 40*y/h + (x/97+y/53)%2*40 + r.IntN(12))
		}
	}
	for i := range m.Cb {
		m.Cb[i], m.Cr[i] = uint8(110+i/97%30), uint8(120+i/53%20)
	}
	return m
}
