package tags

import (
	"strconv"
	"strings"

	"rsc.io/qr"
)

// Code is an address as a code that a camera reads, drawn in a square of Size modules with the margin
// of four that readers need.
type Code struct {
	Text string
	Size int
	Path string // of an SVG, one run of dark modules after the other
}

// margin is the quiet zone around the code, in modules. Source: ISO/IEC 18004.
const margin = 4

// CodeOf draws an address with error correction that stands a scratch or a drop of paint.
func CodeOf(text string) (Code, error) {
	c, err := qr.Encode(text, qr.Q)
	if err != nil {
		return Code{}, err
	}
	var path strings.Builder
	for y := range c.Size {
		for x := 0; x < c.Size; x++ {
			from := x
			for x < c.Size && c.Black(x, y) {
				x++
			}
			if n := x - from; n > 0 {
				path.WriteString("M" + strconv.Itoa(from+margin) + " " + strconv.Itoa(y+margin) + "h" + strconv.Itoa(n) + "v1h-" + strconv.Itoa(n) + "z")
			}
		}
	}
	return Code{Text: text, Size: c.Size + 2*margin, Path: path.String()}, nil
}
