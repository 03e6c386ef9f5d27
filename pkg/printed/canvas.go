package printed

import (
	"bytes"
	"io"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// canvas is pages that are drawn on, from the upper left corner.
type canvas struct {
	pdf   *fpdf.Fpdf
	paper Paper
	pages int
}

// family is what the fonts are called within a file.
const family = "go"

func newCanvas(i Info, p Paper) *canvas {
	pdf := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: p.Width, Ht: p.Height}})
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(i.Created.UTC())
	pdf.SetModificationDate(i.Created.UTC())
	pdf.SetTitle(oneLine(i.Title), true)
	pdf.SetAuthor(oneLine(i.Author), true)
	pdf.SetLang(i.Language)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddUTF8FontFromBytes(family, "", goregular.TTF)
	pdf.AddUTF8FontFromBytes(family, "B", gobold.TTF)
	return &canvas{pdf: pdf, paper: p}
}

func (c *canvas) addPage() {
	c.pdf.AddPage()
	c.pages++
}

// text writes a line of printable text; y is where its letters stand.
func (c *canvas) text(f face, x, y float64, line string) {
	style := ""
	if f.bold {
		style = "B"
	}
	c.pdf.SetFont(family, style, f.size)
	c.pdf.Text(x, y, line)
}

// right writes a line that ends at x.
func (c *canvas) right(f face, x, y float64, line string) { c.text(f, x-f.width(line), y, line) }

// column writes lines below each other from a top, and gives where the next would begin.
func (c *canvas) column(f face, x, top float64, lines []string) float64 {
	for _, line := range lines {
		c.text(f, x, top+f.ascent(), line)
		top += f.leading()
	}
	return top
}

// grey is how dark what is written and drawn from here on is: 0 is black, 255 white.
func (c *canvas) grey(shade int) {
	c.pdf.SetTextColor(shade, shade, shade)
	c.pdf.SetDrawColor(shade, shade, shade)
}

// frame draws a box's edge.
func (c *canvas) frame(x, y, w, h, thick float64) {
	c.pdf.SetLineWidth(thick)
	c.pdf.Rect(x, y, w, h, "D")
}

func (c *canvas) line(x1, y1, x2, y2, thick float64) {
	c.pdf.SetLineWidth(thick)
	c.pdf.Line(x1, y1, x2, y2)
}

// writeTo gives the file, whole or not at all.
func (c *canvas) writeTo(w io.Writer) error {
	var b bytes.Buffer
	if err := c.pdf.Output(&b); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}
