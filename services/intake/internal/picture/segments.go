package picture

import (
	"bytes"
	"encoding/binary"
)

// eachSegment gives the segments of a JPEG file before its picture, one by one, until visit says no or
// the file makes no sense any more.
func eachSegment(file []byte, visit func(marker byte, body []byte) bool) {
	at := 2 // past the start of image
	for at+4 <= len(file) && file[at] == 0xff {
		marker := file[at+1]
		if marker == 0xff { // padding
			at++
			continue
		}
		if marker == 0xda || marker == 0xd9 { // start of scan, end of image
			return
		}
		if marker == 0x01 || marker >= 0xd0 && marker <= 0xd7 { // these have no body
			at += 2
			continue
		}
		length := int(binary.BigEndian.Uint16(file[at+2:]))
		if length < 2 || at+2+length > len(file) {
			return
		}
		if !visit(marker, file[at+4:at+2+length]) {
			return
		}
		at += 2 + length
	}
}

var exifMark = []byte("Exif\x00\x00")

func exifOfJPEG(file []byte) (block []byte) {
	eachSegment(file, func(marker byte, body []byte) bool {
		if marker == 0xe1 && bytes.HasPrefix(body, exifMark) {
			block = body[len(exifMark):]
		}
		return block == nil
	})
	return block
}

// exifOfPNG: chunks are length, kind, content, checksum.
func exifOfPNG(file []byte) []byte {
	for at := 8; at+12 <= len(file); {
		length := int(binary.BigEndian.Uint32(file[at:]))
		if length < 0 || length > len(file)-at-12 {
			return nil
		}
		if string(file[at+4:at+8]) == "eXIf" {
			return file[at+8 : at+8+length]
		}
		at += 12 + length
	}
	return nil
}

// exifOfWebP: chunks are kind, length, content, to an even length. Some programs begin the content as
// JPEG has it.
func exifOfWebP(file []byte) []byte {
	for at := 12; at+8 <= len(file); {
		length := int(binary.LittleEndian.Uint32(file[at+4:]))
		if length < 0 || length > len(file)-at-8 {
			return nil
		}
		if string(file[at:at+4]) == "EXIF" {
			return bytes.TrimPrefix(file[at+8:at+8+length], exifMark)
		}
		at += 8 + length + length%2
	}
	return nil
}
