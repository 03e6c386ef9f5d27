package planner

import (
	"math"
	"slices"
)

// Outlook is what may become of a piece.
type Outlook struct {
	Kept               float64  // the share of runs in which it is done by its promise; 1 where nobody promised
	Early, Middle, End Minute   // by when it is done in one of ten runs, in half, in nine of ten
	Tardiness          float64  // weight × minutes after the promise, the mean over the runs
	ends               []Minute // when it was done in each run, in order
}

// newOutlook looks at when a piece was done in each run; it sorts them.
func newOutlook(ends []Minute, p *Piece) Outlook {
	slices.Sort(ends)
	o := Outlook{ends: ends}
	if len(ends) == 0 {
		return o
	}
	kept, _ := slices.BinarySearch(ends, p.Due+1)
	late := 0
	for _, end := range ends[kept:] {
		late += end - p.Due
	}
	runs := float64(len(ends))
	o.Kept, o.Tardiness = float64(kept)/runs, p.Weight*float64(late)/runs
	o.Early, o.Middle, o.End = o.By(0.1), o.By(0.5), o.By(0.9)
	return o
}

// By gives by when it is done in that share of the runs, at least: a promise of that minute, and of none before
// it, is kept with this chance. A share is from 0, the first run, to 1, the last; 0 where nothing was played.
//
// Source: the sample quantile as the inverse of the empirical distribution function (Hyndman and Fan, The American
// Statistician 50 (1996) 361-365, definition 1).
func (o Outlook) By(chance float64) Minute {
	if len(o.ends) == 0 {
		return 0
	}
	const rounding = 1e-9 // 0.55 of 100 runs are 55 of them
	nth := int(math.Ceil(chance*float64(len(o.ends)) - rounding))
	return o.ends[min(max(nth, 1), len(o.ends))-1]
}
