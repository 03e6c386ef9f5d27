package sales

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"tackfree/pkg/apportion"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Set is pieces that were sold together at one price.
type Set struct {
	ID      id.ID
	Channel string
	Buyer   string
	Amounts // of all together
	Taxed
	PayTerms
	FeeFromChannel bool // nobody said the fee: it follows from what the channel keeps
	SoldAt         time.Time
	Parts          []Part // in the order in which they were given
}

// Part is a piece of a set and its share: the sale has what of price, tax and fee is its own.
type Part struct {
	Piece id.ID
	Tag   int32
	Sale  Sale
	Used  []Deposit // that went into it
}

// SetShare is which set a sale is of, and what it counts for in it.
type SetShare struct {
	Set    id.ID
	Place  int32        // 1 for the first
	Weight money.Amount // above zero
}

// Member is a piece that is to be sold in a set.
type Member struct {
	Piece   Piece
	Listing *Listing
	Weight  *money.Amount // what it counts for; nil: its asking price
	Hold    id.ID         // by which it is kept for the buyer; Nil: by none
	Held    []Deposit     // of that hold, or on a client's own piece
}

// weight is what a member counts for; zero: nobody knows.
func (m Member) weight() money.Amount {
	if m.Weight != nil {
		return *m.Weight
	}
	return m.Listing.AskingPrice
}

// SellSet sells all members or none, price, tax and fee split by their weights with largest
// remainders, of two alike to the earlier one; a sale's id is made from the set's and the piece's.
// Faults: those of Sell, of the whole or of a piece; NO_ASKING_PRICE, WEIGHT_ZERO,
// SET_ON_SEVERAL_CHANNELS, SHARE_ZERO, DEPOSIT_ABOVE_PRICE. Refused, it changes no listing.
func SellSet(s Set, members []Member, fold Fold) (Set, error) {
	if err := s.check(); err != nil {
		return s, err
	}
	if err := s.fits(); err != nil {
		return s, err
	}
	for _, m := range members {
		if err := m.Listing.sellable(m.Piece, s.SoldAt, "sale_time"); err != nil {
			return s, err
		}
		whose := Sale{Hold: m.Hold, Buyer: s.Buyer}
		if err := m.Listing.takeUp(m.Piece, &whose); err != nil {
			return s, err
		}
		s.Buyer = whose.Buyer // a set has one: of what is held, the holder
	}
	weights, err := weigh(members)
	if err != nil {
		return s, err
	}
	if s.Channel, err = SetSoldOn(s.Channel, members, fold); err != nil {
		return s, err
	}
	sales, err := s.split(members, weights)
	if err != nil {
		return s, err
	}
	used := make([][]Deposit, len(members))
	for i, m := range members {
		if used[i], err = sales[i].UseDeposits(m.Held); err != nil {
			return s, err
		}
	}
	for i, m := range members {
		sale, err := m.Listing.Sell(m.Piece, sales[i])
		if err != nil {
			return s, err
		}
		s.Parts = append(s.Parts, Part{Piece: m.Piece.ID, Tag: m.Piece.Tag, Sale: sale, Used: used[i]})
	}
	s.round(members)
	return s, nil
}

// round rounds what is paid in cash for all together, once, and gives each piece its share by what it is paid for.
func (s *Set) round(members []Member) {
	dues := make([]int64, len(s.Parts))
	var all money.Amount
	for i, p := range s.Parts {
		dues[i] = int64(p.Sale.AtOnce())
		all += p.Sale.AtOnce()
	}
	whole := s.rounding(all)
	if whole == 0 {
		return
	}
	sign := money.Amount(1)
	if whole < 0 {
		sign = -1
	}
	for i, share := range apportion.Split(sign*whole, dues) {
		sale := &members[i].Listing.Sales[len(members[i].Listing.Sales)-1]
		sale.CashRounding = sign * share
		s.Parts[i].Sale.CashRounding = sale.CashRounding
	}
}

// weigh gives what each member counts for.
func weigh(members []Member) ([]int64, error) {
	out, unknown := make([]int64, len(members)), []string{}
	for i, m := range members {
		switch out[i] = int64(m.weight()); {
		case out[i] > 0:
		case m.Weight != nil:
			return nil, fault.New(fault.Invalid, "WEIGHT_ZERO", "Piece %d cannot count for nothing in a set; give it a weight above zero, or sell it by itself.", m.Piece.Tag).
				At(fmt.Sprintf("items[%d].weight", i))
		default:
			unknown = append(unknown, fmt.Sprint(m.Piece.Tag))
		}
	}
	if len(unknown) > 0 {
		return nil, fault.New(fault.Precondition, "NO_ASKING_PRICE",
			"Nothing is asked for piece %s, so nobody knows what it is of the set; list it at a price, or say a weight for it.", strings.Join(unknown, ", ")).
			With("tags", strings.Join(unknown, ","))
	}
	return out, nil
}

// SetSoldOn is the channel on which a set was sold: the given one, or else the only one on which those of the members stand which
// are listed, or Direct. Fault: SET_ON_SEVERAL_CHANNELS.
func SetSoldOn(given string, members []Member, fold Fold) (string, error) {
	channel := given
	for _, m := range members {
		for _, listed := range append([]string{m.Listing.Channel}, m.Listing.Others...) {
			switch {
			case given != "" || listed == "":
			case channel == "":
				channel = listed
			case fold(listed) != fold(channel):
				return "", fault.New(fault.Precondition, "SET_ON_SEVERAL_CHANNELS",
					"The pieces are listed on %s and on %s; say on which channel the set was sold.", channel, listed).At("channel")
			}
		}
	}
	return cmp.Or(channel, Direct), nil
}

// taxed is how a piece of the set at its share of the price is taxed.
func (s Set) taxed(price money.Amount) Taxed {
	out := s.Taxed
	if out.Taxable != 0 {
		out.Taxable = price
	}
	return out
}

// split makes the sale of each member.
func (s Set) split(members []Member, weights []int64) ([]Sale, error) {
	prices, taxes, fees := apportion.Split(s.Price, weights), apportion.Split(s.Tax, weights), apportion.Split(s.Fee, weights)
	out := make([]Sale, len(members))
	for i, m := range members {
		out[i] = Sale{ID: id.From(s.ID, m.Piece.ID), Channel: s.Channel, Buyer: s.Buyer, SoldAt: s.SoldAt,
			Amounts: Amounts{Price: prices[i], Tax: taxes[i], Fee: fees[i]}, FeeFromChannel: s.FeeFromChannel,
			Taxed: s.taxed(prices[i]), PayTerms: PayTerms{OnAccount: s.OnAccount, Method: s.Method},
			Of: SetShare{Set: s.ID, Place: int32(i + 1), Weight: money.Amount(weights[i])}, Hold: m.Hold}
		if prices[i] == 0 {
			return nil, fault.New(fault.Invalid, "SHARE_ZERO", "Of this price nothing would be piece %d's; check the price, or give the piece a larger weight.", m.Piece.Tag).At("price")
		}
		if err := out[i].check(); err != nil {
			return nil, err
		}
	}
	return out, nil
}
