package picture

import (
	"bytes"
	"encoding/binary"
	"time"
)

// exif is what of the camera's notes is used; the rest is never looked at.
type exif struct {
	orientation int    // 1 to 8; 1: it is upright
	original    string // 2006:01:02 15:04:05, by the camera's clock
	offset      string // ±hh:mm of that clock, or empty
}

// Tags of Exif (CIPA DC-008, 4.6.5, 4.6.6).
const (
	tagOrientation = 0x0112
	tagExif        = 0x8769
	tagOriginal    = 0x9003
	tagOffset      = 0x9011
)

// Types of values in TIFF (revision 6.0, section 2).
const (
	typeASCII = 2
	typeShort = 3
	typeLong  = 4
)

// readExif reads the notes. What makes no sense counts as not noted: a photo is not refused for it.
func readExif(block []byte) exif {
	x := exif{orientation: 1}
	t, first, ok := openTIFF(block)
	if !ok {
		return x
	}
	for _, e := range t.entries(first) {
		switch {
		case e.tag == tagOrientation && e.kind == typeShort && e.count == 1:
			if o := int(t.order.Uint16(e.value)); o >= 1 && o <= 8 {
				x.orientation = o
			}
		case e.tag == tagExif && e.kind == typeLong && e.count == 1:
			x.readTimes(t, t.order.Uint32(e.value))
		}
	}
	return x
}

func (x *exif) readTimes(t tiff, at uint32) {
	for _, e := range t.entries(at) {
		switch e.tag {
		case tagOriginal:
			x.original = t.text(e)
		case tagOffset:
			x.offset = t.text(e)
		}
	}
}

// takenAt reads the camera's time; zero for none. Clocks that were never set are noted as zeros.
func (x exif) takenAt(zone *time.Location) time.Time {
	if t, err := time.Parse("2006:01:02 15:04:05-07:00", x.original+x.offset); err == nil {
		return t.UTC()
	}
	t, err := time.ParseInLocation("2006:01:02 15:04:05", x.original, zone)
	if err != nil {
		return time.Time{}
	}
	return t.UTC()
}

// tiff is the form in which Exif is written.
type tiff struct {
	b     []byte
	order binary.ByteOrder
}

// openTIFF gives where the first directory is.
func openTIFF(b []byte) (t tiff, first uint32, ok bool) {
	if len(b) < 8 {
		return t, 0, false
	}
	switch string(b[:4]) {
	case "II*\x00":
		t = tiff{b, binary.LittleEndian}
	case "MM\x00*":
		t = tiff{b, binary.BigEndian}
	default:
		return t, 0, false
	}
	return t, t.order.Uint32(b[4:]), true
}

// entry is one value of a directory: itself where it fits into four bytes, else where it is.
type entry struct {
	tag, kind uint16
	count     uint32
	value     []byte
}

// entries reads a directory, as much of it as is there.
func (t tiff) entries(at uint32) (all []entry) {
	if uint64(at)+2 > uint64(len(t.b)) {
		return nil
	}
	n := int(t.order.Uint16(t.b[at:]))
	rest := t.b[at+2:]
	for range min(n, len(rest)/12) {
		all = append(all, entry{t.order.Uint16(rest), t.order.Uint16(rest[2:]), t.order.Uint32(rest[4:]), rest[8:12]})
		rest = rest[12:]
	}
	return all
}

// text gives an entry's text up to its NUL; "" if it is none, or not there.
func (t tiff) text(e entry) string {
	if e.kind != typeASCII || e.count > uint32(len(t.b)) {
		return ""
	}
	b := e.value[:min(e.count, 4)]
	if e.count > 4 {
		at := uint64(t.order.Uint32(e.value))
		if at+uint64(e.count) > uint64(len(t.b)) {
			return ""
		}
		b = t.b[at : at+uint64(e.count)]
	}
	text, _, _ := bytes.Cut(b, []byte{0})
	return string(text)
}
