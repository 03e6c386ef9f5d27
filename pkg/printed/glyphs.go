package printed

import (
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/rivo/uniseg"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// How many bytes of one text are printed, and of one that is a line; what is longer ends with "…".
const (
	mostText = 20_000
	mostLine = 1_000
)

// missing stands for what the font has no letter for.
const missing = "□"

// plainly are signs that the font lacks and that another says as well.
var plainly = map[rune]string{'\u2010': "-", '\u2011': "-", '\u26a0': "!", '\u1e9e': "SS", '\u2192': ">", '\u2713': "x"}

// advances are how far each letter that the font has moves the pen, in thousandths of the letters' size.
type advances map[rune]float64

// widths are those of the upright font and of the bold one.
var widths = sync.OnceValue(func() [2]advances {
	return [2]advances{measured(goregular.TTF), measured(gobold.TTF)}
})

func measured(ttf []byte) advances {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic(err) // it is compiled in
	}
	all, buffer := advances{}, &sfnt.Buffer{}
	for r := ' '; r < utf8.RuneError; r++ { // fpdf writes letters of two bytes
		g, err := f.GlyphIndex(buffer, r)
		if err != nil || g == 0 || unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			continue
		}
		if a, err := f.GlyphAdvance(buffer, g, fixed.I(1000), font.HintingNone); err == nil {
			all[r] = float64(a) / 64
		}
	}
	return all
}

// printable is a text as far as the font has letters for it: without what is not seen, with plain letters in
// place of unknown ones with marks, and a box for each sign of another script. Lines stay.
func printable(text string) string {
	text = norm.NFC.String(strings.ReplaceAll(strings.ToValidUTF8(start(text, mostText), missing), "\r\n", "\n"))
	var b strings.Builder
	for g := uniseg.NewGraphemes(text); g.Next(); {
		b.WriteString(shown(g.Str()))
	}
	return b.String()
}

// shown is what is printed of what people see as one sign.
func shown(cluster string) string {
	known := lettersOf(cluster)
	if known == "" {
		known = lettersOf(norm.NFKD.String(cluster))
	}
	if known == "" && strings.IndexFunc(cluster, seen) >= 0 {
		return missing
	}
	return known
}

func seen(r rune) bool { return !unicode.IsControl(r) && !unicode.Is(unicode.Cf, r) }

// lettersOf are the letters of a text that the font has, and its white space as blanks and lines.
func lettersOf(text string) string {
	var b strings.Builder
	for _, r := range text {
		switch _, known := widths()[0][r]; {
		case r == '\n':
			b.WriteRune(r)
		case known && !unicode.Is(unicode.Mn, r):
			b.WriteRune(r)
		case unicode.IsSpace(r):
			b.WriteByte(' ')
		default:
			b.WriteString(plainly[r])
		}
	}
	return b.String()
}

// oneLine is a text without its line breaks.
func oneLine(text string) string {
	return strings.Join(strings.Fields(printable(start(text, mostLine))), " ")
}

// start is as many bytes of a text at most.
func start(text string, most int) string {
	if len(text) <= most {
		return text
	}
	return strings.ToValidUTF8(text[:most], "") + "…"
}
