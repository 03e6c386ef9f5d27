package printed

import (
	"errors"
	"fmt"
	"strings"

	"rsc.io/qr"
)

const (
	// quiet is the light margin around a code, in modules. Source: ISO/IEC 18004, quiet zone.
	quiet = 4
	// leastModule is the smallest edge of a module, so that a phone reads it a hand's breadth away. Common practice.
	leastModule = 0.4
)

// errNoRoom is a code that would be too fine to read, or a warning without room; Sheet.tooSmall says it.
var errNoRoom = errors.New("no room on a label")

// levels are how much of a code may be scratched or painted over, the most first: 25, 15 and 7 percent.
// Source: ISO/IEC 18004.
var levels = []qr.Level{qr.Q, qr.M, qr.L}

// codeIn is the code of a text with modules of leastModule or more in a square of a side, quiet zone
// included; else errNoRoom.
func codeIn(text string, side float64) (*qr.Code, error) {
	for _, level := range levels {
		code, err := qr.Encode(text, level)
		if err == nil && moduleOf(code, side) >= leastModule {
			return code, nil
		}
	}
	return nil, errNoRoom
}

func moduleOf(code *qr.Code, side float64) float64 { return side / float64(code.Size+2*quiet) }

// code draws one as a single path of runs of dark modules, so that no renderer leaves seams between them.
func (c *canvas) code(code *qr.Code, x, y, side float64) {
	module := moduleOf(code, side)
	var path strings.Builder
	for row := range code.Size {
		for col := 0; col < code.Size; col++ {
			from := col
			for col < code.Size && code.Black(col, row) {
				col++
			}
			if n := col - from; n > 0 {
				left, bottom := x+float64(from+quiet)*module, y+float64(row+quiet+1)*module
				fmt.Fprintf(&path, "%.3f %.3f %.3f %.3f re ", left/point, (c.paper.Height-bottom)/point, float64(n)*module/point, module/point)
			}
		}
	}
	c.pdf.SetFillColor(0, 0, 0)
	c.pdf.RawWriteStr(path.String() + "f")
}
