package costing

import (
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/apportion"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// JointCost is the group of a lot: what its pieces bear of its price, beside what each was taken in
// at. Its id is the lot.
const JointCost GroupKind = "lot"

// LotTerms are what intake says of a lot at one time: how its price is split, or that the price was
// another. Of both kinds those with the highest version that count from an instant or before are in
// force at it. Another price counts from when the lot was bought, another split from when it is said.
type LotTerms struct {
	Fact
	Lot       id.ID
	Version   int64 // the first one is 1
	Price     money.Amount
	TakesOver bool // of the first one: others take the share of a piece over that is scrapped
	Shares    []LotShare
}

// LotShare is what a piece counts for in the split of its lot's price.
type LotShare struct {
	Piece  id.ID
	Weight int64
}

// Joint says what the pieces of a lot bear beyond what is booked of its prices by themselves, and from
// when: a function of all terms of the lot and all marks of its pieces. The price is split by the
// weights in force, with largest remainders. Where others take over, the share of a piece that is lost
// goes, at the instant at which it is, to those pieces that are then neither lost nor sold, by their
// weights; if there are none it stays, a loss. Other weights later split the whole anew, as if they had
// been known before, and the difference counts from the instant at which they were set.
func (r *Rules) Joint(terms []LotTerms, marks []Mark) (out []Dated) {
	terms = slices.SortedFunc(slices.Values(terms), func(a, b LotTerms) int { return int(a.Version - b.Version) })
	if len(terms) == 0 || terms[0].Version != 1 {
		return nil
	}
	beyond := map[id.ID]money.Amount{}
	for _, at := range turns(terms, marks) {
		bears, booked := bornAt(at, terms, marks), bookedAt(at, terms)
		for _, s := range terms[0].Shares {
			then := bears[s.Piece] - booked[s.Piece]
			out = append(out, r.borne(at, s.Piece, then-beyond[s.Piece])...)
			beyond[s.Piece] = then
		}
	}
	return out
}

// bookedAt is what is booked of each piece by itself at an instant: its share by the first terms, and
// the prices that were put right since. Terms come by version.
func bookedAt(at time.Time, terms []LotTerms) map[id.ID]money.Amount {
	booked := terms[0].split()
	for n, t := range terms {
		if !reprices(terms, n) || t.OccurredAt.After(at) {
			continue
		}
		before, after := t.sharesAt(terms[n-1].Price), t.sharesAt(t.Price)
		for i, s := range t.Shares {
			booked[s.Piece] += after[i] - before[i]
		}
	}
	return booked
}

// reprices reports whether terms say that the price was another.
func reprices(terms []LotTerms, n int) bool { return n > 0 && terms[n].Price != terms[n-1].Price }

// borne are the lines by which a piece bears so much more. All that is paid for a lot is paid as
// one, so what one piece bears more and another less is paid to nobody.
func (r *Rules) borne(at time.Time, piece id.ID, more money.Amount) (out []Dated) {
	if more == 0 {
		return nil
	}
	for _, l := range r.lines("piece_bought", Line{Piece: piece}, more) {
		if l.Bucket == NoBucket {
			l.Piece = id.Nil
		}
		out = append(out, Dated{at, l})
	}
	return out
}

// turns are the instants since the lot was bought at which something happened to it, in their order.
func turns(terms []LotTerms, marks []Mark) (all []time.Time) {
	bought := terms[0].OccurredAt
	for _, t := range terms {
		all = append(all, later(t.OccurredAt, bought))
	}
	for _, m := range marks {
		all = append(all, later(m.OccurredAt, bought)) // people type minutes
	}
	slices.SortFunc(all, time.Time.Compare)
	return slices.CompactFunc(all, time.Time.Equal)
}

// bornAt is what each piece bears at an instant. Terms come by version.
func bornAt(at time.Time, terms []LotTerms, marks []Mark) map[id.ID]money.Amount {
	inForce := termsAt(at, terms)
	bears := inForce.split()
	if !terms[0].TakesOver {
		return bears
	}
	for _, l := range lossesBy(at, inForce, marks) {
		inForce.passOn(bears, l, marks)
	}
	return bears
}

// termsAt are the weights and the price in force at an instant.
func termsAt(at time.Time, terms []LotTerms) LotTerms {
	inForce := terms[0]
	for n, t := range terms {
		switch {
		case t.OccurredAt.After(at):
		case reprices(terms, n):
			inForce.Price = t.Price
		default:
			inForce = t
		}
	}
	return inForce
}

// split is the price over the pieces.
func (t LotTerms) split() map[id.ID]money.Amount {
	out := map[id.ID]money.Amount{}
	for i, amount := range t.sharesAt(t.Price) {
		out[t.Shares[i].Piece] = amount
	}
	return out
}

// sharesAt is what the weights make of a price, in the order of the shares.
func (t LotTerms) sharesAt(price money.Amount) []money.Amount {
	return apportion.Split(price, weightsOf(t.Shares))
}

// Agrees refuses shares that were told and are not those of the weights: later splits begin from these.
func (t LotTerms) Agrees(told []money.Amount) error {
	if split := t.sharesAt(t.Price); !slices.Equal(split, told) {
		return fmt.Errorf("the shares of the lot are %v minor units, by their weights they are %v", told, split)
	}
	return nil
}

func weightsOf(shares []LotShare) []int64 {
	out := make([]int64, len(shares))
	for i, s := range shares {
		out[i] = s.Weight
	}
	return out
}

// loss is a piece that is lost, and since when.
type loss struct {
	piece id.ID
	since time.Time
}

// lossesBy are the pieces that are lost at an instant, in the order in which they were; of one instant
// the earlier of the lot comes first.
func lossesBy(at time.Time, t LotTerms, marks []Mark) (out []loss) {
	for _, s := range t.Shares {
		if since, lost := lostSince(s.Piece, at, marks); lost {
			out = append(out, loss{s.Piece, since})
		}
	}
	slices.SortStableFunc(out, func(a, b loss) int { return a.since.Compare(b.since) })
	return out
}

// lostSince reports whether a piece is lost at an instant, and since when. One that is sold is not
// lost, and one that was scrapped and comes back from a sale is from then on.
func lostSince(piece id.ID, at time.Time, marks []Mark) (since time.Time, lost bool) {
	for _, turn := range instants(nil, marksOf(piece, marks)) {
		if turn.After(at) {
			break
		}
		switch is := standsAt(piece, turn, marks).rule() == "stands_lost"; {
		case is && !lost:
			since, lost = turn, true
		case !is:
			lost = false
		}
	}
	return since, lost
}

// standsAt is where a piece stands by all that happened to it by an instant.
func standsAt(piece id.ID, at time.Time, marks []Mark) (s standing) {
	for _, m := range marks {
		if m.Piece == piece && !m.OccurredAt.After(at) {
			s = s.count(m.Kind)
		}
	}
	return s
}

func marksOf(piece id.ID, marks []Mark) (out []Mark) {
	for _, m := range marks {
		if m.Piece == piece {
			out = append(out, m)
		}
	}
	return out
}

// passOn gives what a lost piece bears to those that were in hand when it was lost, if there are any.
func (t LotTerms) passOn(bears map[id.ID]money.Amount, l loss, marks []Mark) {
	var inHand []LotShare
	for _, s := range t.Shares {
		if rule := standsAt(s.Piece, l.since, marks).rule(); rule != "stands_lost" && rule != "stands_sold" {
			inHand = append(inHand, s)
		}
	}
	if len(inHand) == 0 {
		return
	}
	for i, more := range apportion.Split(bears[l.piece], weightsOf(inHand)) {
		bears[inHand[i].Piece] += more
	}
	bears[l.piece] = 0
}
