package picture

import (
	"bytes"
	"encoding/binary"
	"testing"
	"time"
)

// FuzzPicture: whatever is sent, it is refused in words or becomes pictures that can be read, with
// nothing of the file's own in them.
func FuzzPicture(f *testing.F) {
	f.Add(dirty(f))
	f.Add(asPNG(f, scene(9, 7)))
	f.Add(dot(f))
	f.Add(noted(f, notes{order: binary.BigEndian, orientation: 8, original: "2026:03:02 09:30:00"}.block()))
	f.Add(withChunk(asPNG(f, scene(5, 5)), "eXIf", notes{order: binary.LittleEndian, orientation: 5, gps: true}.block()))
	f.Add([]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00"))
	f.Add(claims(4, 4, 16, 6))
	f.Fuzz(func(t *testing.T, file []byte) {
		if vast(file) {
			t.Skip("it takes too long to try many of that size")
		}
		p, err := Clean(file)
		if err != nil {
			if wordless(err) {
				t.Fatalf("Clean = %v, which is no fault", err)
			}
			return
		}
		p.TakenAt(time.UTC)
		full := decoded(t, p.Full).Bounds()
		if full.Dx() != p.Width || full.Dy() != p.Height || p.Width*p.Height > mostPixels {
			t.Fatalf("Clean says %d × %d of a picture of %v", p.Width, p.Height, full.Size())
		}
		for side, b := range map[int][]byte{MediumSide: p.Medium, ThumbnailSide: p.Thumbnail} {
			if size := decoded(t, b).Bounds(); size.Dx() > side || size.Dy() > side {
				t.Fatalf("shrunk to %d it is %v", side, size.Size())
			}
		}
	})
}

// vast reports a picture of more than some 30,000 pixels that is not refused for its size.
func vast(file []byte) bool {
	f, err := formatOf(file)
	if err != nil {
		return false
	}
	c, err := f.config(bytes.NewReader(file))
	return err == nil && int64(c.Width)*int64(c.Height) > 1<<15 && checkBounds(f, file) == nil
}
