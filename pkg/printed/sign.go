package printed

// mostSigns is how many lines there are to fill in at most.
const mostSigns = 3

// sign draws lines to be filled in by hand, with what goes on them below, and keeps them on one page.
func (l *letter) sign() {
	all := l.Sign[:min(len(l.Sign), mostSigns)]
	if len(all) == 0 {
		return
	}
	const room, gap = 16.0, 8.0 // room for a hand to write
	width := (l.width - gap*float64(len(all)-1)) / float64(len(all))
	texts, deep := make([][]string, len(all)), 0
	for i, text := range all {
		texts[i] = fine.wrap(printable(text), width)
		deep = max(deep, len(texts[i]))
	}
	l.room(room + float64(deep)*fine.leading() + 1)
	l.y += room
	for i, lines := range texts {
		x := l.left + float64(i)*(width+gap)
		l.line(x, l.y, x+width, l.y, 0.3)
		l.column(fine, x, l.y+1, lines)
	}
	l.y += float64(deep)*fine.leading() + 1
}
