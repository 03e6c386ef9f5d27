package printed

// What a page of a letter leaves free, in millimetres, and its letters.
const (
	sideMargin = 20.0
	headMargin = 15.0
	footMargin = 22.0
)

var (
	body    = face{size: 10}
	strong  = face{bold: true, size: 10}
	fine    = face{size: 8.5}
	heading = face{bold: true, size: 18}
	shop    = face{bold: true, size: 14}
)

// letter is a document as it is drawn, from the top of a page to its foot.
type letter struct {
	*canvas
	Document
	logo  *logo
	total int     // pages; 0: nobody knows yet
	y     float64 // where the next thing begins
	left  float64
	width float64
}

func newLetter(d Document, logo *logo, total int) *letter {
	return &letter{canvas: newCanvas(d.Info, d.Paper), Document: d, logo: logo, total: total, left: sideMargin, width: d.Paper.Width - 2*sideMargin}
}

// foot is where a page's text ends.
func (l *letter) foot() float64 { return l.paper.Height - footMargin }

// turn begins a page: its foot, and on pages after the first whose letter it is.
func (l *letter) turn() {
	l.addPage()
	l.grey(90)
	y := l.paper.Height - 12
	page := l.PageOf(l.pages, l.total)
	l.right(fine, l.left+l.width, y, oneLine(page))
	l.text(fine, l.left, y, fine.cut(oneLine(l.Footer), l.width-fine.width(page)-5))
	l.y = headMargin
	if l.pages > 1 {
		l.y = l.column(fine, l.left, l.y, []string{fine.cut(l.again(), l.width)}) + 4
	}
	l.grey(0)
}

// again is what stands at the head of every page after the first.
func (l *letter) again() string {
	text := oneLine(l.Head.Name) + " · " + oneLine(l.Title)
	if len(l.Facts) > 0 {
		text += " · " + oneLine(l.Facts[0].Name) + " " + oneLine(l.Facts[0].Text)
	}
	return text
}

// room turns the page where less than a height is left on it.
func (l *letter) room(height float64) {
	if l.y+height > l.foot() {
		l.turn()
	}
}

// flow writes lines, over as many pages as they take.
func (l *letter) flow(f face, x float64, lines []string) {
	for _, line := range lines {
		l.room(f.leading())
		l.y = l.column(f, x, l.y, []string{line})
	}
}

func (l *letter) paragraphs(all []string) {
	for _, p := range all {
		l.flow(body, l.left, body.wrap(printable(p), l.width))
		l.y += 2
	}
	if len(all) > 0 {
		l.y += 2
	}
}

// head draws the letterhead.
func (l *letter) head() {
	x, bottom := l.left, l.y
	if l.logo != nil {
		w, h := l.logo.size()
		l.image(l.logo, x, l.y, w, h)
		x, bottom = x+w+5, l.y+h
	}
	width := l.left + l.width - x
	name, lines := shop.fitted(oneLine(l.Head.Name), width, 2*shop.leading(), 9)
	l.y = l.column(name, x, l.y, lines)
	l.y = l.column(fine, x, l.y, fine.most(joined(l.Head.Lines), width, longestAddress))
	l.y = max(l.y, bottom) + 3
	l.line(l.left, l.y, l.left+l.width, l.y, 0.3)
	l.y += 8
}

// addressed writes to whom it goes, and beside it what is looked up first.
func (l *letter) addressed() {
	half, top := l.width/2-5, l.y
	bottom := l.column(body, l.left, top, body.most(joined(l.To), half, longestAddress))
	y, x := top, l.left+l.width/2+5
	for _, f := range l.Facts[:min(len(l.Facts), longestAddress)] {
		name := fine.cut(oneLine(f.Name), half*0.4)
		l.text(fine, x, y+body.ascent(), name)
		y = l.column(body, x+half*0.42, y, body.most(oneLine(f.Text), half*0.58, 3))
	}
	l.y = max(bottom, y) + 8
}

// longestAddress is how many lines of an address there are at most.
const longestAddress = 20

func (l *letter) title() {
	f, lines := heading.fitted(oneLine(l.Title), l.width, 3*heading.leading(), 12)
	l.y = l.column(f, l.left, l.y, lines) + 3
}
