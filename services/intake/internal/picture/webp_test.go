package picture

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"testing"
	"time"
)

// dot is a WebP picture of one pixel, without loss.
func dot(t testing.TB) []byte {
	t.Helper()
	b, err := base64.StdEncoding.DecodeString("UklGRhoAAABXRUJQVlA4TA0AAAAvAAAAEAcQERGIiP4HAA==")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// noted is the same with notes, in the container that has room for them (RFC 9649, 2.7).
func noted(t testing.TB, block []byte) []byte {
	t.Helper()
	chunk := func(kind string, body []byte) []byte {
		b := append(binary.LittleEndian.AppendUint32([]byte(kind), uint32(len(body))), body...)
		return append(b, make([]byte, len(body)%2)...)
	}
	content := append([]byte("WEBP"), chunk("VP8X", []byte{0x08, 0, 0, 0, 0, 0, 0, 0, 0, 0})...)
	content = append(content, dot(t)[12:]...)
	content = append(content, chunk("EXIF", block)...)
	content = append(content, chunk("XMP ", []byte("PLANTED-XMP"))...)
	return append(binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(len(content))), content...)
}

func TestClean_WebP(t *testing.T) {
	block := notes{order: binary.LittleEndian, orientation: 1, original: "2026:03:02 09:30:00", gps: true}.block()
	for name, file := range map[string][]byte{"plain": noted(t, block), "as JPEG has it": noted(t, append(bytes.Clone(exifMark), block...))} {
		p := clean(t, file)
		if p.Width != 1 || p.Height != 1 {
			t.Errorf("%s: Clean = %d × %d, want 1 × 1", name, p.Width, p.Height)
		}
		if got, want := p.TakenAt(time.UTC), time.Date(2026, 3, 2, 9, 30, 0, 0, time.UTC); !got.Equal(want) {
			t.Errorf("%s: TakenAt = %v, want %v", name, got, want)
		}
		if bytes.Contains(p.Full, []byte("PLANTED")) {
			t.Errorf("%s: it still has notes", name)
		}
	}
	if clean(t, dot(t)).TakenAt(time.UTC) != (time.Time{}) {
		t.Error("a picture without notes was taken at some time")
	}
}

// BenchmarkClean cleans what a phone takes: 12 megapixels, lying on its side.
func BenchmarkClean(b *testing.B) {
	img := scene(4032, 3024)
	for i := range img.Pix { // grain, without which a JPEG is nothing
		img.Pix[i] ^= byte(i*2654435761>>13) & 15
	}
	file := with(asJPEG(b, img), segment(0xe1, append(bytes.Clone(exifMark), notes{order: binary.BigEndian, orientation: 6, gps: true}.block()...)))
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	for b.Loop() {
		clean(b, file)
	}
}
