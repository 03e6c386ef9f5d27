package intake

import (
	"fmt"
	"math/big"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// SuggestLines are the lines of an estimate for such work and material, at the terms, and the products of which
// nobody knows a price. Minutes become hours to the hundredth. Fault: RATE_MISSING.
func SuggestLines(l Work, needs []Need, t CommissionTerms) (lines []EstimateLine, unpriced []string, err error) {
	if err := t.hasRate(); err != nil {
		return nil, nil, err
	}
	if l.Minutes > 0 {
		rate := t.Rate
		lines = append(lines, EstimateLine{Kind: LabourLine, What: fmt.Sprintf("Refinishing, %d stages", l.Stages), Rate: &rate, Untaxed: t.LabourUntaxed,
			Hours: Hours{Low: hoursOf(min(l.Low, l.Minutes)), Likely: hoursOf(l.Minutes), High: hoursOf(max(l.High, l.Minutes))}})
	}
	for _, n := range needs {
		cost, known := n.cost()
		switch {
		case !known:
			unpriced = append(unpriced, n.Product)
		case cost > 0:
			markup := t.Markup
			lines = append(lines, EstimateLine{Kind: MaterialLine, What: n.Product, Cost: cost, Markup: &markup})
		}
	}
	return lines, unpriced, nil
}

func hoursOf(minutes int32) decimal.Decimal {
	return decimal.NewFromInt32(minutes).DivRound(decimal.NewFromInt(60), 2)
}

// cost is what as much as is needed costs, rounded once; false: nobody knows.
func (n Need) cost() (money.Amount, bool) {
	if !n.Of.IsPositive() {
		return 0, false
	}
	share := new(big.Rat).Quo(n.Needed.Rat(), n.Of.Rat())
	return money.Round(share.Mul(share, new(big.Rat).SetInt64(int64(n.Cost)))), true
}

// OfPiece is the sighting with what it does not say as the piece has it, and the piece's parts where none were given
// and all of its own were measured.
func (s Sighting) OfPiece(p Piece, given []Part) (Sighting, []Part) {
	if s.Kind == "" {
		s.Kind = p.Kind
	}
	if s.Size == "" {
		s.Size = p.Size
	}
	if _, known := p.area(); known && len(given) == 0 {
		given = p.Parts
	}
	return s, given
}

// IsClients refuses a piece that the shop bought. Fault: PIECE_NOT_A_CLIENTS.
func (p Piece) IsClients() error {
	if p.Purchase != nil {
		return fault.New(fault.Precondition, "PIECE_NOT_A_CLIENTS", "Piece %d was bought by the shop and is no client's own; name the piece that the client brought.", p.Tag).At("piece")
	}
	return nil
}
