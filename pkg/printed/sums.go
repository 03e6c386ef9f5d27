package printed

// sums writes what it comes to, at the right and together.
func (l *letter) sums() {
	if len(l.Sums) == 0 {
		return
	}
	const pad = 0.8
	all := l.Sums[:min(len(l.Sums), mostSums)]
	l.room(float64(len(all)) * (strong.leading() + 2*pad))
	right, half := l.left+l.width, l.width/2
	for _, s := range all {
		f := body
		if s.Strong {
			f = strong
			l.line(right-half, l.y, right, l.y, 0.3)
		}
		l.y += pad
		amount := f.cut(oneLine(s.Amount), half*0.6)
		l.right(f, right, l.y+f.ascent(), amount)
		l.text(f, right-half, l.y+f.ascent(), f.cut(oneLine(s.Name), half-f.width(amount)-columnGap))
		l.y += f.leading() + pad
	}
	l.y += 6
}

// mostSums is how many there are at most, so that they stand on one page.
const mostSums = 30

// cautions draws their box. One that is higher than a page is text without a box.
func (l *letter) cautions() {
	if l.Cautions.Title == "" && len(l.Cautions.Lines) == 0 {
		return
	}
	const pad = 3.0
	inner := l.width - 2*pad
	title := strong.wrap(oneLine(l.Cautions.Title), inner)
	var lines []string
	for _, line := range l.Cautions.Lines {
		lines = append(lines, body.wrap(printable(line), inner)...)
	}
	height := float64(len(title))*strong.leading() + float64(len(lines))*body.leading() + 2*pad
	if height <= l.foot()-headMargin-2*fine.leading()-4 {
		l.room(height)
		l.frame(l.left, l.y, l.width, height, 0.4)
	}
	l.y += pad
	l.flow(strong, l.left+pad, title)
	l.flow(body, l.left+pad, lines)
	l.y += pad
}
