package costing

import (
	"slices"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// AddTerms notes what is said of a lot. What its pieces cost by its first terms is told with each.
func (b *Book) AddTerms(t LotTerms) { b.Lots = append(b.Lots, t) }

// CorrectPurchase books that a piece that was bought by itself cost something else than was told.
func (b *Book) CorrectPurchase(f Fact, before, after money.Amount, reason string) {
	b.reprice(f, f.Piece, reason, []id.ID{f.Piece}, []money.Amount{before}, []money.Amount{after})
}

// CorrectLotPrice notes terms of a lot with another price than the one told before, and books it: of
// both, each piece has what its weight makes of it. What others took over, or what was split otherwise
// since, is the lot's group.
func (b *Book) CorrectLotPrice(t LotTerms, before money.Amount, reason string) {
	b.AddTerms(t)
	pieces := make([]id.ID, len(t.Shares))
	for i, s := range t.Shares {
		pieces[i] = s.Piece
	}
	b.reprice(t.Fact, t.Lot, reason, pieces, t.sharesAt(before), t.sharesAt(t.Price))
}

// reprice takes away what pieces were said to have cost, and adds what they cost. Both count from when
// they came in.
func (b *Book) reprice(f Fact, of id.ID, reason string, pieces []id.ID, before, after []money.Amount) {
	var away, anew []Line
	for i, piece := range pieces {
		away = append(away, b.rules.lines("piece_bought", Line{Piece: piece}, -before[i])...)
		anew = append(anew, b.rules.lines("piece_bought", Line{Piece: piece}, after[i])...)
	}
	b.Post(f.about(of, away...))
	b.Post(f.transaction(anew...))
	b.Reasons[f.ID] = reason
}

// LotPieces lists the pieces whose lots have to be settled anew, should they be of any: what others
// bear follows from whether these are there. And it lists the lots of which something is said.
func (b *Book) LotPieces() (pieces, lots []id.ID) {
	for _, m := range b.Marks {
		if m.Kind.moves() && !slices.Contains(pieces, m.Piece) {
			pieces = append(pieces, m.Piece)
		}
	}
	for _, t := range b.Lots {
		if !slices.Contains(lots, t.Lot) {
			lots = append(lots, t.Lot)
		}
	}
	return pieces, lots
}

// moves reports whether a piece is there otherwise after such a mark.
func (k MarkKind) moves() bool { return k == MarkSold || k == MarkReturned || k == MarkScrapped }

// SettleLots says what the ledger should have of each lot that has to be settled anew, and why: terms
// and marks are what was known before of these lots and of all their pieces.
func (b *Book) SettleLots(terms []LotTerms, marks []Mark) (want map[id.ID][]Dated, causes map[id.ID]Cause) {
	of := map[id.ID][]LotTerms{}
	for _, t := range slices.Concat(terms, b.Lots) {
		of[t.Lot] = append(of[t.Lot], t)
	}
	all := slices.Concat(marks, b.Marks)
	want, causes = map[id.ID][]Dated{}, map[id.ID]Cause{}
	for lot, terms := range of {
		var its []Mark
		for _, m := range all {
			if m.Kind.moves() && terms[0].has(m.Piece) {
				its = append(its, m)
			}
		}
		want[lot], causes[lot] = b.rules.Joint(terms, its), b.lotCause(terms[0])
	}
	return want, causes
}

// has reports whether a piece is of the lot.
func (t LotTerms) has(piece id.ID) bool {
	return slices.ContainsFunc(t.Shares, func(s LotShare) bool { return s.Piece == piece })
}

// lotCause is the last thing in the book about a lot.
func (b *Book) lotCause(lot LotTerms) (last Cause) {
	note := func(f Fact) {
		if c := (Cause{f.ID, f.ID, f.RecordedAt}); c.after(last) {
			last = c
		}
	}
	for _, t := range b.Lots {
		if t.Lot == lot.Lot {
			note(t.Fact)
		}
	}
	for _, m := range b.Marks {
		if m.Kind.moves() && lot.has(m.Piece) {
			note(m.Fact)
		}
	}
	return last
}
