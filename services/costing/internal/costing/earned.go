package costing

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// EarnedBy is by what sold pieces are told apart.
type EarnedBy string

// The ways to tell sold pieces apart.
const (
	EachPiece EarnedBy = "piece"
	OfKind    EarnedBy = "kind"
	OfSource  EarnedBy = "source"
	OfFinish  EarnedBy = "finish"
	OfChannel EarnedBy = "channel"
	OfWorkers EarnedBy = "workers" // those with at least a tenth of a piece's hours
	OfMonth   EarnedBy = "month"   // of the sale, or in which it was given up
)

// Earning is what sold pieces earned, and apart from that what those lost that were given up.
type Earning struct {
	Of
	Pieces      int32 // sold
	Provisional int32 // of these and of those that were given up
	Sums              // of what was sold
	GivenUp     int32
	Lost        money.Amount
}

func (e *Earning) add(f Earning) {
	e.Pieces += f.Pieces
	e.Provisional += f.Provisional
	e.plus(f.Sums)
	e.GivenUp += f.GivenUp
	e.Lost += f.Lost
}

// Margin is the profit of the revenue, in percent; empty where there is none.
func (e Earning) Margin() string { return Percent(e.Profit(), e.Revenue) }

// Earn adds up what pieces earned that were sold, and what those lost that were given up: lines in one order
// always, and all together.
func Earn(ended []Sheet, by EarnedBy, zone *time.Location, c money.Currency) ([]Earning, Earning) {
	parts := make([]portion[Earning], len(ended))
	for i, s := range ended {
		e := s.earning()
		if len(s.Open(zone, c)) > 0 {
			e.Provisional = 1
		}
		parts[i] = portion[Earning]{s.of(by, zone), e}
	}
	return sumBy(parts, (*Earning).add, func(e *Earning, o Of) { e.Of = o })
}

// earning is what the piece counts for: one that was sold and scrapped at once is sold, as in the ledger.
func (s Sheet) earning() Earning {
	if s.Scrapped && s.Sales != Sold {
		return Earning{GivenUp: 1, Lost: -s.Profit()}
	}
	return Earning{Pieces: 1, Sums: s.Sums}
}

// of is what a piece that was sold or given up counts with.
func (s Sheet) of(by EarnedBy, zone *time.Location) Of {
	switch by {
	case OfKind:
		return ofWord(s.Kind)
	case OfSource:
		return ofWord(s.Source)
	case OfFinish:
		return ofWord(s.Finish)
	case OfChannel:
		return ofWord(s.Channel)
	case OfWorkers:
		return s.workers()
	case OfMonth:
		return ofMonth(later(s.SoldAt, s.GivenUpAt), zone)
	}
	return ofPiece(s.Piece, s.Tag, s.Title)
}

// workers are those who have at least a tenth of the piece's hours, by name: whoever only handed
// something over says nothing of what the piece earns. The tenth is a rule of this program.
func (s Sheet) workers() Of {
	hours, all := map[id.ID]Work{}, time.Duration(0)
	for _, w := range s.Work {
		w.Time += hours[w.Person].Time
		hours[w.Person] = w
	}
	for _, w := range hours {
		all += w.Time
	}
	mix := slices.DeleteFunc(valuesOf(hours), func(w Work) bool { return w.Time <= 0 || 10*w.Time < all })
	slices.SortStableFunc(mix, func(a, b Work) int { return cmp.Compare(a.PersonName, b.PersonName) })
	keys, names := make([]string, len(mix)), make([]string, len(mix))
	for i, w := range mix {
		keys[i], names[i] = w.Person.String(), w.PersonName
	}
	o := Of{Key: strings.Join(keys, " "), Title: strings.Join(names, ", ")}
	if o.Key != "" {
		o.order = o.Title + " " + o.Key
	}
	return o
}

// plus adds other sums.
func (s *Sums) plus(t Sums) {
	s.Acquisition += t.Acquisition
	s.Labour += t.Labour
	s.Premium += t.Premium
	s.Burden += t.Burden
	s.Overhead += t.Overhead
	s.Material += t.Material
	s.Outside += t.Outside
	s.Rework += t.Rework
	s.Fees += t.Fees
	s.Revenue += t.Revenue
	s.Tax += t.Tax
	s.LabourTime += t.LabourTime
	s.ReworkTime += t.ReworkTime
}
