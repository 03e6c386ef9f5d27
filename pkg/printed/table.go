package printed

// Measures of tables.
const (
	columnGap  = 4.0
	rowPad     = 1.0
	mostAmount = 0.25 // of the width that one column of amounts takes at most
)

// columns are where each begins and how wide it is.
func (l *letter) columns() (at, wide []float64) {
	wide = make([]float64, len(l.Table.Columns))
	left, shares := l.width-columnGap*float64(len(wide)-1), 0
	for i, c := range l.Table.Columns {
		if c.Amounts {
			wide[i] = min(l.widest(i), l.width*mostAmount, left)
			left -= wide[i]
		} else {
			shares += max(1, c.Share)
		}
	}
	x := l.left
	for i, c := range l.Table.Columns {
		if !c.Amounts {
			wide[i] = max(left, 0) * float64(max(1, c.Share)) / float64(shares)
		}
		at, x = append(at, x), x+wide[i]+columnGap
	}
	return at, wide
}

// widest is how wide a column's widest cell is, and a little more.
func (l *letter) widest(column int) float64 {
	all := strong.width(oneLine(l.Table.Columns[column].Heading))
	for _, row := range l.Table.Rows {
		if column < len(row) {
			all = max(all, body.width(oneLine(row[column])))
		}
	}
	return all + 0.1
}

func (l *letter) table() {
	if len(l.Table.Columns) == 0 {
		return
	}
	at, wide := l.columns()
	headings := make([]string, len(wide))
	for i, c := range l.Table.Columns {
		headings[i] = c.Heading
	}
	top := l.cells(strong, headings, wide)
	l.room(top.height() + body.leading() + 4*rowPad)
	l.headings(top, at, wide)
	for _, row := range l.Table.Rows {
		l.row(l.cells(body, row, wide), top, at, wide)
	}
	l.y += 2
}

// cells are the lines of each cell of a row.
type cells struct {
	face
	lines [][]string
}

func (l *letter) cells(f face, row []string, wide []float64) cells {
	c := cells{f, make([][]string, len(wide))}
	for i := range wide {
		if i < len(row) {
			c.lines[i] = f.wrap(printable(row[i]), wide[i])
		}
	}
	return c
}

// deep is how many lines the row has.
func (c cells) deep() (n int) {
	for _, lines := range c.lines {
		n = max(n, len(lines))
	}
	return n
}

func (c cells) height() float64 { return float64(c.deep())*c.leading() + 2*rowPad }

func (l *letter) headings(top cells, at, wide []float64) {
	for i := range min(top.deep(), mostHeading) {
		l.line1(top, i, at, wide)
	}
	l.y += rowPad
	l.line(l.left, l.y, l.left+l.width, l.y, 0.3)
	l.y += rowPad
}

// mostHeading is how many lines of a table's headings are repeated at most.
const mostHeading = 4

// row writes one whole, on the next page where this one has no room for it; only one that is longer than a
// page is parted.
func (l *letter) row(c, top cells, at, wide []float64) {
	if l.y+c.height() > l.foot() {
		l.next(top, at, wide)
	}
	l.y += rowPad
	for i := range c.deep() {
		if l.y+c.leading() > l.foot() {
			l.next(top, at, wide)
		}
		l.line1(c, i, at, wide)
	}
	l.y += rowPad
	l.grey(190)
	l.line(l.left, l.y, l.left+l.width, l.y, 0.1)
	l.grey(0)
}

// next turns the page and repeats the headings.
func (l *letter) next(top cells, at, wide []float64) {
	l.turn()
	l.headings(top, at, wide)
}

// line1 writes one line of a row.
func (l *letter) line1(c cells, n int, at, wide []float64) {
	for i, lines := range c.lines {
		if n >= len(lines) {
			continue
		}
		if l.Table.Columns[i].Amounts {
			l.right(c.face, at[i]+wide[i], l.y+c.ascent(), lines[n])
		} else {
			l.text(c.face, at[i], l.y+c.ascent(), lines[n])
		}
	}
	l.y += c.leading()
}
