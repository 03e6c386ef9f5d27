package picture

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"strconv"
	"testing"
	"time"

	"tackfree/pkg/fault"
)

// turned says which of the upright picture's corners stand where in the file, by orientation (CIPA
// DC-008, 4.6.5, where the 0th row and the 0th column of the file are), so that a file with them is
// upright when it is cleaned.
var turned = map[int][4]int{
	1: {0, 1, 2, 3}, // 0th row top, 0th column left
	2: {1, 0, 3, 2}, // top, right
	3: {3, 2, 1, 0}, // bottom, right
	4: {2, 3, 0, 1}, // bottom, left
	5: {0, 2, 1, 3}, // left, top
	6: {1, 3, 0, 2}, // right, top
	7: {3, 1, 2, 0}, // right, bottom
	8: {2, 0, 3, 1}, // left, bottom
}

// fileFor is a picture as a camera that is held so writes it.
func fileFor(orientation int) *image.RGBA {
	w, h := 96, 64
	if orientation >= 5 {
		w, h = h, w
	}
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetRGBA(x, y, corners[turned[orientation][y*2/h*2+x*2/w]])
		}
	}
	return img
}

func TestClean_TurnsUpright(t *testing.T) {
	for orientation := 1; orientation <= 8; orientation++ {
		for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
			block := notes{order: order, orientation: uint16(orientation)}.block()
			files := map[string][]byte{
				"JPEG": with(asJPEG(t, fileFor(orientation)), segment(0xe1, append(bytes.Clone(exifMark), block...))),
				"PNG":  withChunk(asPNG(t, fileFor(orientation)), "eXIf", block),
			}
			for format, file := range files {
				t.Run(format+strconv.Itoa(orientation)+order.String(), func(t *testing.T) {
					p := clean(t, file)
					if p.Width != 96 || p.Height != 64 {
						t.Fatalf("Clean = %d × %d, want 96 × 64", p.Width, p.Height)
					}
					for _, b := range [][]byte{p.Full, p.Medium, p.Thumbnail} {
						if !lit(decoded(t, b), corners) {
							t.Errorf("orientation %d is not upright", orientation)
						}
					}
				})
			}
		}
	}
}

// withChunk puts a chunk after a PNG's header.
func withChunk(file []byte, kind string, body []byte) []byte {
	const header = 8 + 25
	chunk := append(append(binary.BigEndian.AppendUint32(nil, uint32(len(body))), kind...), body...)
	chunk = binary.BigEndian.AppendUint32(chunk, crcOf(chunk[4:]))
	return append(append(bytes.Clone(file[:header]), chunk...), file[header:]...)
}

// An upright pixel is where it was, also where nothing is alike: turning is exact to the pixel.
func TestUpright_ToThePixel(t *testing.T) {
	img := image.NewNRGBA(image.Rect(3, 5, 3+5, 5+3)) // bounds that don't begin at zero
	for y := range 3 {
		for x := range 5 {
			img.SetNRGBA(3+x, 5+y, color.NRGBA{uint8(40 * x), uint8(80 * y), 7, 255})
		}
	}
	to := map[int]func(x, y int) (int, int){
		1: func(x, y int) (int, int) { return x, y }, 2: func(x, y int) (int, int) { return 4 - x, y },
		3: func(x, y int) (int, int) { return 4 - x, 2 - y }, 4: func(x, y int) (int, int) { return x, 2 - y },
		5: func(x, y int) (int, int) { return y, x }, 6: func(x, y int) (int, int) { return 2 - y, x },
		7: func(x, y int) (int, int) { return 2 - y, 4 - x }, 8: func(x, y int) (int, int) { return y, 4 - x },
	}
	for orientation, place := range to {
		out := upright(img, orientation)
		for y := range 3 {
			for x := range 5 {
				tx, ty := place(x, y)
				if got, want := color.NRGBAModel.Convert(out.At(tx, ty)), img.At(3+x, 5+y); got != want {
					t.Fatalf("orientation %d: pixel (%d, %d) = %v at (%d, %d), want %v", orientation, x, y, got, tx, ty, want)
				}
			}
		}
	}
}

// dirty is a photo with everything in it that nobody who sees the piece shall learn.
func dirty(t testing.TB) []byte {
	t.Helper()
	inside := append(asJPEG(t, scene(16, 16)), "PLANTED-INSIDE"...)
	block := notes{order: binary.BigEndian, orientation: 6, original: "2026:03:02 09:30:00", gps: true, inside: inside}.block()
	file := with(asJPEG(t, fileFor(6)),
		segment(0xe0, []byte("JFIF\x00\x01\x02\x00\x00\x01\x00\x01\x00\x00")),
		segment(0xe1, append(bytes.Clone(exifMark), block...)),
		segment(0xe1, []byte("http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta>PLANTED-XMP</x:xmpmeta>")),
		segment(0xe2, []byte("ICC_PROFILE\x00\x01\x01PLANTED-PROFILE")),
		segment(0xed, []byte("Photoshop 3.0\x008BIMPLANTED-IPTC")),
		segment(0xfe, []byte("PLANTED-NOTE")))
	return append(file, "PLANTED-BEHIND"...)
}

func TestClean_LeavesNothingButThePicture(t *testing.T) {
	file := dirty(t)
	for _, planted := range []string{"PLANTED-MAKER", "PLANTED-COMMENT", "PLANTED-GPS", "PLANTED-INSIDE", "PLANTED-XMP", "PLANTED-PROFILE", "PLANTED-IPTC", "PLANTED-NOTE", "PLANTED-BEHIND"} {
		if !bytes.Contains(file, []byte(planted)) {
			t.Fatalf("the photo was to have %s", planted)
		}
	}
	for size, b := range sizes(clean(t, file)) {
		for _, gone := range []string{"PLANTED", "Exif", "http:", "xmp", "ICC", "2026:03:02", "Photoshop", "JFIF"} {
			if bytes.Contains(b, []byte(gone)) {
				t.Errorf("%s still has %s", size, gone)
			}
		}
		eachSegment(b, func(marker byte, _ []byte) bool {
			if marker >= 0xe0 && marker <= 0xef || marker == 0xfe {
				t.Errorf("%s has a segment %#x, which is no part of the picture", size, marker)
			}
			return true
		})
		if n := bytes.Count(b, []byte("\xff\xd8\xff")); n != 1 {
			t.Errorf("%s begins %d pictures", size, n)
		}
	}
}

func sizes(p Picture) map[string][]byte {
	return map[string][]byte{"full": p.Full, "medium": p.Medium, "thumbnail": p.Thumbnail}
}

func TestClean_PNGLeavesItsText(t *testing.T) {
	file := withChunk(withChunk(asPNG(t, quarters()), "tEXt", []byte("Comment\x00PLANTED-TEXT")), "iTXt", []byte("XML:com.adobe.xmp\x00PLANTED-XMP"))
	for size, b := range sizes(clean(t, file)) {
		if bytes.Contains(b, []byte("PLANTED")) {
			t.Errorf("%s still has text", size)
		}
	}
}

func TestClean_SameForTheSameFile(t *testing.T) {
	one, two := clean(t, dirty(t)), clean(t, dirty(t))
	other := clean(t, asJPEG(t, scene(96, 66)))
	if one.SHA256() != two.SHA256() || one.SHA256() == other.SHA256() || len(one.SHA256()) != 64 {
		t.Errorf("SHA256 = %s, %s of the same and %s of another", one.SHA256(), two.SHA256(), other.SHA256())
	}
}

func TestPicture_TakenAt(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ original, offset, want string }{
		{"2026:03:02 09:30:00", "", "2026-03-02T14:30:00Z"}, // the shop's clock
		{"2026:07:02 09:30:00", "", "2026-07-02T13:30:00Z"}, // in summer
		{"2026:03:02 09:30:00", "+01:00", "2026-03-02T08:30:00Z"},
		{"2026:03:02 09:30:00", "nonsense", "2026-03-02T14:30:00Z"},
		{"0000:00:00 00:00:00", "", ""},
		{"    :  :     :  :  ", "", ""},
		{"yesterday", "", ""},
		{"", "", ""},
	} {
		block := notes{order: binary.LittleEndian, orientation: 1, original: c.original, offset: c.offset}.block()
		got := clean(t, with(asJPEG(t, quarters()), segment(0xe1, append(bytes.Clone(exifMark), block...)))).TakenAt(zone)
		want := time.Time{}
		if c.want != "" {
			if want, err = time.Parse(time.RFC3339, c.want); err != nil {
				t.Fatal(err)
			}
		}
		if !got.Equal(want) {
			t.Errorf("TakenAt of %q %q = %v, want %v", c.original, c.offset, got, want)
		}
	}
}

func TestClean_Sizes(t *testing.T) {
	for _, c := range []struct{ w, h, mw, mh, tw, th int }{
		{4000, 3000, 1280, 960, 320, 240},
		{3000, 4000, 960, 1280, 240, 320},
		{2000, 1000, 1280, 640, 320, 160},
		{1280, 100, 1280, 100, 320, 25},
		{1281, 65, 1280, 64, 320, 16},
		{320, 320, 320, 320, 320, 320},
		{1, 1, 1, 1, 1, 1},
	} {
		p := clean(t, asJPEG(t, scene(c.w, c.h)))
		for _, got := range []struct {
			b    []byte
			w, h int
		}{{p.Full, c.w, c.h}, {p.Medium, c.mw, c.mh}, {p.Thumbnail, c.tw, c.th}} {
			img := decoded(t, got.b)
			if img.Bounds().Dx() != got.w || img.Bounds().Dy() != got.h {
				t.Errorf("%d × %d became %v, want %d × %d", c.w, c.h, img.Bounds().Size(), got.w, got.h)
			}
			if c.w > 1 && !lit(img, corners) {
				t.Errorf("%d × %d became other colours at %d × %d", c.w, c.h, got.w, got.h)
			}
		}
	}
}

// What averages out does, in place of becoming stripes.
func TestShrink_AveragesFineGrain(t *testing.T) {
	img := image.NewGray(image.Rect(0, 0, 1280, 1280))
	for i := range img.Pix {
		img.Pix[i] = 255 * uint8(1-min(i%4, 1)) // one column of four
	}
	out := shrink(img, 320)
	for y := range 320 {
		for x := range 320 {
			if v := color.GrayModel.Convert(out.At(x, y)).(color.Gray).Y; v < 58 || v > 70 {
				t.Fatalf("pixel (%d, %d) = %d, want about 64", x, y, v)
			}
		}
	}
}

func TestClean_WhiteBehindWhatIsSeenThrough(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 32, 32))
	img.SetNRGBA(0, 0, color.NRGBA{1, 2, 3, 0})
	if got := decoded(t, clean(t, asPNG(t, img)).Full).At(16, 16); !lit(uniform(got), [4]color.RGBA{{255, 255, 255, 255}, {255, 255, 255, 255}, {255, 255, 255, 255}, {255, 255, 255, 255}}) {
		t.Errorf("what is seen through is %v, want white", got)
	}
}

func uniform(c color.Color) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, 4, 4))
	for i := range 16 {
		img.Set(i%4, i/4, c)
	}
	return img
}

func wantFault(t *testing.T, what string, err error, reason string) {
	t.Helper()
	if !fault.Is(err, reason) || fault.Of(err).Kind != fault.Invalid || len(fault.Of(err).Fields) != 1 {
		t.Errorf("Clean(%s) = %v, want %s at a field", what, err, reason)
	}
}
