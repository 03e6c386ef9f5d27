package cli

import (
	"io"
	"os"
	"time"

	"golang.org/x/term"
	"google.golang.org/protobuf/types/known/timestamppb"
)

// paint colours words for who looks at a terminal; the words say all there is by themselves.
type paint bool

// Colours of what something is in, as ECMA-48 numbers them.
const (
	inWorkColour = "32"   // green
	dryingColour = "36"   // cyan
	readyColour  = "33"   // yellow
	awayColour   = "35"   // magenta
	lateColour   = "1;31" // bold red
	quietColour  = "2"    // faint
)

// in writes a word in a colour; none leaves it as it is.
func (p paint) in(colour, word string) string {
	if !p || colour == "" || word == "" {
		return word
	}
	return "\x1b[" + colour + "m" + word + "\x1b[0m"
}

// late writes a time in the colour of what is late, once it has passed.
func (p paint) late(at *timestamppb.Timestamp, now time.Time, text string) string {
	if at == nil || now.Before(at.AsTime()) {
		return text
	}
	return p.in(lateColour, text)
}

// coloured says whether what is written is coloured; when is auto, always or never. See https://no-color.org.
func coloured(when string, out io.Writer) bool {
	if when != "auto" {
		return when == "always"
	}
	return onTerminal(out) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
}

// onTerminal reports whether somebody looks at what is written.
func onTerminal(out any) bool {
	f, ok := out.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
