package picture

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"tackfree/pkg/fault"
	"testing"
)

// corners are the colours at the upper left, the upper right, the lower left and the lower right.
var corners = [4]color.RGBA{{200, 30, 30, 255}, {30, 180, 30, 255}, {30, 30, 200, 255}, {220, 220, 40, 255}}

// quarters is a picture of four colours, 96 wide and 64 high.
func quarters() *image.RGBA { return scene(96, 64) }

func scene(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetRGBA(x, y, corners[y*2/h*2+x*2/w])
		}
	}
	return img
}

func asJPEG(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 92}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func asPNG(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// segment is one of JPEG.
func segment(marker byte, body []byte) []byte {
	return append(binary.BigEndian.AppendUint16([]byte{0xff, marker}, uint16(len(body)+2)), body...)
}

// with puts segments after the start of a JPEG.
func with(file []byte, segments ...[]byte) []byte {
	return append(append([]byte{0xff, 0xd8}, bytes.Join(segments, nil)...), file[2:]...)
}

// notes is what a camera writes beside a picture, byte by byte.
type notes struct {
	order       binary.AppendByteOrder
	orientation uint16
	original    string
	offset      string
	gps         bool
	inside      []byte // a picture within the picture
}

// block writes the notes as TIFF has it: IFD0, Exif and GPS directories, IFD1 with the picture
// within.
func (n notes) block() []byte {
	type value struct {
		tag, kind uint16
		count     uint32
		data      []byte
	}
	o := n.order
	u16 := func(v uint16) []byte { return o.AppendUint16(nil, v) }
	u32 := func(v uint32) []byte { return o.AppendUint32(nil, v) }
	text := func(tag uint16, s string) value {
		return value{tag, typeASCII, uint32(len(s) + 1), append([]byte(s), 0)}
	}
	// directory writes values that fit behind it, at a place in the block.
	directory := func(at uint32, next uint32, values ...value) []byte {
		head, tail := u16(uint16(len(values))), []byte(nil)
		end := at + 2 + 12*uint32(len(values)) + 4
		for _, v := range values {
			head = append(append(append(head, u16(v.tag)...), u16(v.kind)...), u32(v.count)...)
			if len(v.data) <= 4 {
				head = append(head, append(bytes.Clone(v.data), make([]byte, 4-len(v.data))...)...)
				continue
			}
			head = append(head, u32(end+uint32(len(tail)))...)
			tail = append(tail, v.data...)
		}
		return append(append(head, u32(next)...), tail...)
	}
	b := append([]byte("MM\x00*"), u32(8)...)
	if o == binary.AppendByteOrder(binary.LittleEndian) {
		b = append([]byte("II*\x00"), u32(8)...)
	}
	const exifAt, gpsAt, insideAt, pictureAt = 256, 512, 768, 1024
	first := []value{{tagOrientation, typeShort, 1, u16(n.orientation)}, text(0x010f, "PLANTED-MAKER"), {tagExif, typeLong, 1, u32(exifAt)}}
	if n.gps {
		first = append(first, value{0x8825, typeLong, 1, u32(gpsAt)})
	}
	put := func(at int, what []byte) {
		if len(b) < at {
			b = append(b, make([]byte, at-len(b))...)
		}
		b = append(b[:at], what...)
	}
	put(8, directory(8, insideAt, first...))
	put(exifAt, directory(exifAt, 0, text(tagOriginal, n.original), text(tagOffset, n.offset), text(0x9286, "PLANTED-COMMENT")))
	put(gpsAt, directory(gpsAt, 0, text(1, "N"), text(0x1d, "2026:03:02"), text(0x1b, "PLANTED-GPS")))
	put(insideAt, directory(insideAt, 0, value{0x0201, typeLong, 1, u32(pictureAt)}, value{0x0202, typeLong, 1, u32(uint32(len(n.inside)))}))
	put(pictureAt, n.inside)
	return b
}

// lit reports whether the pixel in the middle of each quarter has the colour that it should.
func lit(img image.Image, want [4]color.RGBA) bool {
	b := img.Bounds()
	for i, c := range want {
		x, y := b.Min.X+b.Dx()*(1+2*(i%2))/4, b.Min.Y+b.Dy()*(1+2*(i/2))/4
		got := color.RGBAModel.Convert(img.At(x, y)).(color.RGBA)
		if far(got.R, c.R) || far(got.G, c.G) || far(got.B, c.B) {
			return false
		}
	}
	return true
}

func far(a, b uint8) bool { return max(a, b)-min(a, b) > 12 }

func clean(t testing.TB, file []byte) Picture {
	t.Helper()
	p, err := Clean(file)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func decoded(t testing.TB, b []byte) image.Image {
	t.Helper()
	img, err := jpeg.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// wordless reports an error that is no refusal of a photo.
func wordless(err error) bool {
	f := fault.Of(err)
	return f == nil || f.Kind != fault.Invalid || f.Text == ""
}
