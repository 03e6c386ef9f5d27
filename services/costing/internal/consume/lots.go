package consume

import (
	"fmt"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// lotBought notes that pieces were bought together; what each of them cost is told with it.
func (b *batch) lotBought(e inbox.Event, p *eventsv1.LotBought) error {
	t, err := b.lotAt(e, p.GetPrice(), p.GetShares())
	if err != nil {
		return err
	}
	switch p.GetOnScrap() {
	case "keeps":
	case "takes_over":
		t.TakesOver = true
	default:
		return fmt.Errorf("%q is nothing that becomes of the share of a scrapped piece", p.GetOnScrap())
	}
	b.AddTerms(t)
	return nil
}

// lotRevised notes that the price of a lot is split otherwise.
func (b *batch) lotRevised(e inbox.Event, p *eventsv1.LotSplitRevised) error {
	t, err := b.lotTerms(e, p.GetShares())
	if err != nil {
		return err
	}
	b.AddTerms(t)
	return nil
}

// purchaseCorrected books what a piece, or a lot, cost instead of what was told, as of when it was
// taken in, or else when it was corrected.
func (b *batch) purchaseCorrected(e inbox.Event, p *eventsv1.PurchaseCorrected) error {
	f := factOf(e)
	if at := p.GetTakenInAt(); at != nil {
		f.OccurredAt = at.AsTime()
	}
	before, err := b.amount("the old price", p.GetOldPrice())
	if err != nil {
		return err
	}
	if p.GetLotId() != "" {
		t, err := b.lotAt(e, p.GetNewPrice(), p.GetShares())
		t.Fact = f
		if err == nil {
			b.CorrectLotPrice(t, before, p.GetReason())
		}
		return err
	}
	if e.Piece == id.Nil {
		return fmt.Errorf("the purchase is of no piece and of no lot")
	}
	after, err := b.amount("the new price", p.GetNewPrice())
	if err == nil {
		b.CorrectPurchase(f, before, after, p.GetReason())
	}
	return err
}

// lotAt reads what an event says of its lot and of its price, which are one.
func (b *batch) lotAt(e inbox.Event, price *moneyv1.Money, shares []*eventsv1.LotShare) (costing.LotTerms, error) {
	t, err := b.lotTerms(e, shares)
	if err != nil {
		return t, err
	}
	said, err := b.amount("the price of the lot", price)
	if err == nil && said != t.Price {
		err = fmt.Errorf("the shares of the lot add up to %d minor units, its price is %d", t.Price, said)
	}
	return t, err
}

// lotTerms reads the shares of a lot, which add up to its price.
func (b *batch) lotTerms(e inbox.Event, shares []*eventsv1.LotShare) (costing.LotTerms, error) {
	t := costing.LotTerms{Fact: factOf(e), Lot: e.Aggregate, Version: e.Version}
	var told []money.Amount
	for _, s := range shares {
		piece, err := id.Parse(s.GetPieceId())
		if err != nil {
			return t, fmt.Errorf("piece of the lot: %w", err)
		}
		share, err := b.amount("a share of the lot", s.GetShare())
		if err != nil {
			return t, err
		}
		if s.GetWeight() < 0 {
			return t, fmt.Errorf("piece %s of the lot counts for less than nothing", piece)
		}
		t.Price += share
		told = append(told, share)
		t.Shares = append(t.Shares, costing.LotShare{Piece: piece, Weight: s.GetWeight()})
	}
	if len(t.Shares) == 0 {
		return t, fmt.Errorf("the lot has no pieces")
	}
	return t, t.Agrees(told)
}
