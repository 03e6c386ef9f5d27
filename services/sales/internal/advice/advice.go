// Package advice says what a piece will bring, how soon, and what to ask for it: what pkg/estimate
// learns, from what this shop sold. The rules, without clock, database or wire.
//
//	Changes ─▶ Past: sales ─────▶ estimate.FitPrices ──────────────────────────────┐
//	                 stretches ─▶ asked ÷ likely price ─▶ estimate.FitSelling, by kind ─┤
//	Terms: beliefs ──────────────────────────────────────────────────────▶ Model ◀─┘
//	Model.Forecast ─▶ price, days, what it goes by
//	Model.Ways ─▶ estimate.Market ─▶ what to ask by and by, and what comes of it
//
// Which sales teach: those of the shop's own pieces that did not come back, at what is left of their
// price after refunds. A commission's price is for work and tells of no piece. Pieces of one kind of a set are one
// sale at their middle share, for one buyer took them at one price, and six chairs of a set are not six buyers.
//
// A piece that came back did stand until the day it was sold: somebody came who wanted it at that price. So
// its days count as of any sale, and only its price does not. One that was scrapped stood unsold until then.
//
// Figures here are forecasts and never booked.
package advice

import (
	"time"

	"tackfree/pkg/estimate"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Piece is what tells what a piece brings. Words are folded as names are compared; empty ones are
// not known.
type Piece struct {
	ID    id.ID
	Tag   int32
	Title string
	Kind  string
	// small, medium or large.
	Size string
	// sound, worn or damaged.
	Condition string
	Look      string
}

// Shop is where advice is asked, and until when its past was seen.
type Shop struct {
	Currency money.Currency
	Zone     *time.Location
	Seen     time.Time
}

// traits are a piece's, offered through a channel at a time. The season is the quarter of the
// shop's year, named by its first month.
func (s Shop) traits(p Piece, channel string, at time.Time) (t estimate.Traits) {
	t[estimate.TraitKind], t[estimate.TraitSize], t[estimate.TraitCondition] = p.Kind, p.Size, p.Condition
	t[estimate.TraitLook], t[estimate.TraitChannel] = p.Look, channel
	t[estimate.TraitSeason] = seasons[(at.In(s.Zone).Month()-1)/3]
	return t
}

var seasons = [...]string{"january", "april", "july", "october"}
