package costing

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/id"
)

// Of is what a line of an answer is of.
type Of struct {
	Key   string // tells it from others; empty: nobody said it
	Title string // in words
	Piece id.ID  // id.Nil: it is of no one piece
	Tag   int32
	order string // by which lines are sorted; empty: by the key
}

// Order is where the line stands among others; lines of what nobody said come last.
func (o Of) Order() string { return cmp.Or(o.order, o.Key, "\uffff") }

// ofPiece is what a piece's own line is of; by tag.
func ofPiece(piece id.ID, tag int32, title string) Of {
	return Of{Key: piece.String(), Title: title, Piece: piece, Tag: tag, order: fmt.Sprintf("%010d %s", tag, piece)}
}

// ofMonth is the month of a zone in which an instant lies; the zero instant is in none.
func ofMonth(at time.Time, zone *time.Location) Of {
	if at.IsZero() {
		return Of{}
	}
	month := at.In(zone).Format("2006-01")
	return Of{Key: month, Title: month}
}

// ofWord is what people call by a word of their own.
func ofWord(word string) Of { return Of{Key: word, Title: word} }

// portion is what something adds to a line.
type portion[L any] struct {
	of    Of
	value L
}

// sumBy adds parts up: to a line for each thing that they are of, in the lines' order, and to a total.
func sumBy[L any](parts []portion[L], add func(*L, L), name func(*L, Of)) (lines []L, total L) {
	at := map[string]int{}
	var orders []string
	for _, p := range parts {
		order := p.of.Order()
		i, known := at[order]
		if !known {
			var line L
			name(&line, p.of)
			i, at[order] = len(lines), len(lines)
			lines, orders = append(lines, line), append(orders, order)
		}
		add(&lines[i], p.value)
		add(&total, p.value)
	}
	slices.Sort(orders)
	sorted := make([]L, len(lines))
	for n, order := range orders {
		sorted[n] = lines[at[order]]
	}
	return sorted, total
}
