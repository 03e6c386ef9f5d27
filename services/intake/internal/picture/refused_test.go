package picture

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"runtime"
	"strings"
	"testing"

	"tackfree/pkg/fault"
)

func crcOf(b []byte) uint32 { return crc32.ChecksumIEEE(b) }

func TestClean_Refuses(t *testing.T) {
	whole := asJPEG(t, scene(400, 300))
	for name, c := range map[string]struct {
		file   []byte
		reason string
	}{
		"nothing":          {nil, "PHOTO_EMPTY"},
		"too long":         {append(bytes.Clone(whole), make([]byte, MostBytes)...), "PHOTO_TOO_BIG"},
		"HEIC":             {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00"), "PHOTO_FORMAT"},
		"AVIF":             {[]byte("\x00\x00\x00\x18ftypavif\x00\x00\x00\x00"), "PHOTO_FORMAT"},
		"film":             {[]byte("\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00"), "PHOTO_FORMAT"},
		"GIF":              {[]byte("GIF89a\x01\x00\x01\x00"), "PHOTO_FORMAT"},
		"a page":           {[]byte("<svg onload=alert(1)>"), "PHOTO_FORMAT"},
		"a short file":     {[]byte{0xff}, "PHOTO_FORMAT"},
		"half a photo":     {whole[:len(whole)/2], "PHOTO_UNREADABLE"},
		"only a beginning": {whole[:4], "PHOTO_UNREADABLE"},
		"half a PNG":       {asPNG(t, quarters())[:60], "PHOTO_UNREADABLE"},
		"half a WebP":      {[]byte("RIFF\x00\x00\x00\x00WEBPVP8 "), "PHOTO_UNREADABLE"},
		"a strip":          {asJPEG(t, image.NewGray(image.Rect(0, 0, 2100, 100))), "PHOTO_TOO_NARROW"},
		"a standing strip": {asPNG(t, image.NewGray(image.Rect(0, 0, 10, 201))), "PHOTO_TOO_NARROW"},
	} {
		_, err := Clean(c.file)
		wantFault(t, name, err, c.reason)
	}
}

// Whoever sends HEIC is told what to do.
func TestClean_SaysWhatToDoAboutHEIC(t *testing.T) {
	_, err := Clean([]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00"))
	if text := fault.Of(err).Text; !strings.Contains(text, "camera settings") || !strings.Contains(text, "most compatible") {
		t.Errorf("Clean = %q", text)
	}
}

func TestClean_JustWithinBounds(t *testing.T) {
	for _, img := range []image.Image{image.NewGray(image.Rect(0, 0, 2000, 100)), image.NewGray(image.Rect(0, 0, 10, 200))} {
		if _, err := Clean(asPNG(t, img)); err != nil {
			t.Errorf("Clean(%v) = %v", img.Bounds().Size(), err)
		}
	}
}

// claims is a PNG of a few bytes that says it is so large.
func claims(w, h uint32, depth, colours byte) []byte {
	head := append([]byte("IHDR"), binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)...)
	head = append(head, depth, colours, 0, 0, 0)
	file := append([]byte("\x89PNG\r\n\x1a\n"), 0, 0, 0, 13)
	file = binary.BigEndian.AppendUint32(append(file, head...), crcOf(head))
	return append(file, "\x00\x00\x00\x00IDAT\x35\xaf\x06\x1e"...)
}

// frame is a JPEG of a few bytes that says it is so large.
func frame(t *testing.T, marker byte, w, h uint16, samplings ...byte) []byte {
	t.Helper()
	body := binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16([]byte{8}, h), w)
	body = append(body, byte(len(samplings)))
	for i, s := range samplings {
		body = append(body, byte(i+1), s, 0)
	}
	return append(append([]byte{0xff, 0xd8}, segment(marker, body)...), 0xff, 0xda, 0, 2)
}

// A file of a few bytes cannot have the memory of a large picture.
func TestClean_RefusesBombsBeforeDecoding(t *testing.T) {
	for name, file := range map[string][]byte{
		"a wide PNG":               claims(10_000, 5_001, 8, 2),
		"the widest PNG":           claims(1_000_000, 1_000_000, 8, 0),
		"a JPEG":                   frame(t, 0xc0, 7072, 7072, 0x22, 0x11, 0x11),
		"the largest JPEG":         frame(t, 0xc0, 65535, 65535, 0x11),
		"one in dense passes":      frame(t, 0xc2, 7000, 7000, 0x11, 0x11, 0x11),
		"one of four colours":      frame(t, 0xc2, 5000, 5000, 0x11, 0x11, 0x11, 0x11),
		"one behind what is amiss": with(frame(t, 0xc2, 7000, 7000, 0x11, 0x11, 0x11), segment(0xfe, nil), []byte("amiss")),
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := Clean(file)
		runtime.ReadMemStats(&after)
		wantFault(t, name, err, "PHOTO_TOO_LARGE")
		if grown := after.TotalAlloc - before.TotalAlloc; grown > 1<<20 {
			t.Errorf("%s took %d bytes before it was refused", name, grown)
		}
	}
}

// What is as large as allowed is refused for what it is, a fragment, and not for its size.
func TestClean_LargestIsDecoded(t *testing.T) {
	for name, file := range map[string][]byte{
		"a PNG":              claims(10_000, 5_000, 8, 0),
		"a JPEG":             frame(t, 0xc0, 7071, 7071, 0x22, 0x11, 0x11),
		"one in passes":      frame(t, 0xc2, 7071, 7071, 0x22, 0x11, 0x11),
		"one behind padding": with(frame(t, 0xc2, 7071, 7071, 0x22, 0x11, 0x11), []byte{0xff}, segment(0xfe, nil)),
	} {
		_, err := Clean(file)
		wantFault(t, name, err, "PHOTO_UNREADABLE")
	}
}

// Notes that make no sense are no reason to refuse a photo.
func TestClean_TakesNonsensicalNotes(t *testing.T) {
	for name, block := range map[string][]byte{
		"none":             {},
		"short":            []byte("II*\x00\x08"),
		"elsewhere":        []byte("II*\x00\xff\xff\xff\xff"),
		"many":             []byte("MM\x00*\x00\x00\x00\x08\xff\xff"),
		"in a circle":      []byte("MM\x00*\x00\x00\x00\x08\x00\x01\x87\x69\x00\x04\x00\x00\x00\x01\x00\x00\x00\x08"),
		"orientation 9":    notes{order: binary.BigEndian, orientation: 9}.block(),
		"text from afar":   []byte("MM\x00*\x00\x00\x00\x08\x00\x01\x87\x69\x00\x04\x00\x00\x00\x01\x00\x00\x00\x1a\x00\x00\x00\x00\x00\x01\x90\x03\x00\x02\x00\x00\x00\x14\xff\xff\xff\xff"),
		"neither of these": []byte("XX*\x00\x08\x00\x00\x00"),
	} {
		p := clean(t, with(asJPEG(t, quarters()), segment(0xe1, append(bytes.Clone(exifMark), block...))))
		if !lit(decoded(t, p.Full), corners) {
			t.Errorf("notes %s turned the picture", name)
		}
	}
}
