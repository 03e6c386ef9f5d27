// Package printed writes paper as PDF: labels on a sheet, and letters with a table of what is owed. Plumbing.
//
//	Sheet{Stock, []Label} ─▶ Labels ─┐              ┌ glyphs: what the font lacks becomes a plain letter or a box
//	                                 ├─▶ canvas ────┤ face:   wrapped, shrunk, cut with …
//	Document ─▶ twice, for "1 of 2" ─┘   (fpdf)     └ code:   ISO/IEC 18004, drawn as one path
//
// The same values give the same bytes: nothing here asks what time it is, and every map is written in order.
// Money and quantities come in as text that is written already, so nothing here reckons with them. What is
// typed by strangers, however long or strange, neither leaves the page nor stops the print.
//
// Measures are in millimetres, sizes of letters in points. Letters are the Go fonts of Bigelow & Holmes
// (golang.org/x/image/font/gofont, BSD licence), which may be embedded; they have Latin with its accents,
// Greek, Cyrillic, €, £ and typographic signs. No other script is drawn.
package printed

import (
	"regexp"
	"time"

	"tackfree/pkg/fault"
)

// Info is what a file says of itself.
type Info struct {
	Title, Author string
	Language      string    // BCP 47, such as en or es
	Created       time.Time // the only time in the file; it must be given
}

// Paper is a sheet's size.
type Paper struct {
	Name          string
	Width, Height float64 // upright
}

// The papers of offices. Sources: ISO 216; ANSI/ASME Y14.1, size A (8.5 by 11 inches).
var (
	A4     = Paper{"a4", 210, 297}
	Letter = Paper{"letter", 215.9, 279.4}
)

var (
	errPaperUnknown = fault.New(fault.Invalid, "PAPER_UNKNOWN", "Paper is a4 or letter.").At("paper")
	errNoTime       = fault.New(fault.Internal, "PRINT_UNDATED", "A print needs the time at which it is made.")
	errNoLanguage   = fault.New(fault.Internal, "PRINT_WITHOUT_LANGUAGE", "A print needs its language, such as en.")
)

// PaperNamed finds a paper by its name, a4 or letter. Another is a fault PAPER_UNKNOWN.
func PaperNamed(name string) (Paper, error) {
	for _, p := range []Paper{A4, Letter} {
		if p.Name == name {
			return p, nil
		}
	}
	return Paper{}, errPaperUnknown
}

// PaperOf is the paper of whoever measures in metres, or in inches.
func PaperOf(metric bool) Paper {
	if metric {
		return A4
	}
	return Letter
}

var language = regexp.MustCompile(`^[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*$`)

// check refuses what no file can be made from: PRINT_UNDATED, PRINT_WITHOUT_LANGUAGE.
func (i Info) check() error {
	switch {
	case i.Created.IsZero():
		return errNoTime
	case !language.MatchString(i.Language):
		return errNoLanguage
	}
	return nil
}
