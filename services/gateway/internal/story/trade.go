package story

import (
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/gateway/internal/words"
)

// What intake tells: how the piece came and went, what it was bought for, and its photos.

func takenIn(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetPieceTakenIn()
	if c := p.GetCommission(); c != nil {
		return v.T("story.taken.in.client", c.Client)
	}
	bought := p.GetPurchase()
	s := v.T("story.taken.in")
	if bought.GetSource() != "" {
		s = v.T("story.taken.in.from", bought.GetSource())
	}
	if bought.GetLotId() != "" {
		s += v.T("story.of.lot")
	}
	return s + amount(v, "story.at.price", bought.GetPrice()) + believed(v, bought)
}

// believed says what was believed of it when it was seen; nothing where nobody said, or who reads is not told.
func believed(v *words.Voice, bought *eventsv1.PieceTakenIn_Purchase) string {
	if bought.GetBelievedLow() == nil || bought.GetBelievedHigh() == nil {
		return ""
	}
	return v.T("story.believed", v.Money(bought.BelievedLow), v.Money(bought.BelievedHigh), v.Day(bought.BelievedAt))
}

func scrapped(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.T("story.scrapped") + because(e.GetPieceScrapped().GetReason())
}

func purchaseCorrected(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	c := e.GetPurchaseCorrected()
	if c.GetNewPrice() == nil {
		return v.T("story.purchase.corrected") + because(c.GetReason())
	}
	return v.T("story.purchase.corrected.to", v.Money(c.NewPrice), v.Money(c.OldPrice)) + because(c.Reason)
}

func photoAdded(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetPhotoAdded()
	return v.T("story.photo.added", t.part(p.GetPartId()), v.Word("piece.moment", p.GetDescription().GetMoment())) + because(p.GetDescription().GetNote())
}

func photoDescribed(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetPhotoDescribed().GetNewDescription()
	return v.T("story.photo.described", v.Word("piece.moment", p.GetMoment())) + because(p.GetNote())
}

func photoRemoved(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.T("story.photo.removed") + because(e.GetPhotoRemoved().GetReason())
}

// What sales tells.

func listed(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	l := e.GetPieceListed()
	return v.T("story.listed", strings.Join(append([]string{l.GetChannel()}, l.GetOtherChannels()...), ", ")) + amount(v, "story.at.price", l.GetAskingPrice())
}

func askingChanged(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	c := e.GetAskingPriceChanged()
	if c.GetPlannedFor() != nil { // the reason says the same, in English
		c = &eventsv1.AskingPriceChanged{From: c.From, To: c.To, Reason: v.T("story.by.markdown", onDay(v, c.PlannedFor))}
	}
	switch {
	case c.GetTo() == nil:
		return v.T("story.asking") + because(c.GetReason())
	case v.Minor(c.To) < v.Minor(c.From):
		return v.T("story.asking.down", v.Money(c.From), v.Money(c.To)) + because(c.Reason)
	}
	return v.T("story.asking.up", v.Money(c.From), v.Money(c.To)) + because(c.Reason)
}

func sold(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetPieceSold()
	s := v.T("story.sold", p.GetChannel())
	switch {
	case t.client:
		s = v.T("story.invoiced")
	case p.GetSetId() != "":
		s = v.T("story.sold.set", p.GetChannel())
	}
	s += amount(v, "story.at.price", p.GetPrice())
	if p.GetBuyer() != "" {
		s += v.T("story.to.buyer", p.GetBuyer())
	}
	if p.GetDeposit() != nil {
		s += v.T("story.paid.before", v.Money(p.Deposit))
	}
	if p.GetOnAccount() != nil {
		s += v.T("story.on.account")
	}
	return s
}

func refunded(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	r := e.GetSaleRefunded()
	key := "story.refunded"
	switch {
	case r.GetPieceReturned():
		key = "story.came.back"
	case t.client:
		key = "story.refunded.client"
	}
	if v.Minor(r.GetPrice()) == 0 { // of the tax or the fee alone, or the reader is not told
		return v.T(key) + because(r.GetReason())
	}
	return v.T(key+".of", v.Money(r.Price)) + amount(v, "story.lowered.due", r.GetLoweredDue()) + because(r.GetReason())
}

// amount is a clause about an amount; nothing where there is none, or the reader is not told it.
func amount(v *words.Voice, key string, m *moneyv1.Money) string {
	if m == nil {
		return ""
	}
	return v.T(key, v.Money(m))
}

// What materials tells.

func issued(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	i := e.GetMaterialIssued()
	return v.T("story.issued", v.Quantity(i.GetQuantity()), i.GetProductName(), t.stage(i.GetStageId(), i.GetStageKind()))
}

func takenBack(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	b := e.GetMaterialTakenBack()
	return v.T("story.issue.undone", v.Quantity(b.GetQuantity()), b.GetProductName(), t.stage(b.GetStageId(), b.GetStageKind())) + because(b.GetReason())
}

func returned(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	r := e.GetMaterialReturned()
	return v.T("story.returned", v.Quantity(r.GetQuantity()), r.GetProductName(), t.stage(r.GetStageId(), r.GetStageKind()))
}

func wasted(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	w := e.GetMaterialWasted()
	return v.T("story.wasted", v.Quantity(w.GetQuantity()), w.GetProductName(), t.stage(w.GetStageId(), w.GetStageKind()), v.Word("stock.waste", strings.ReplaceAll(w.GetCause(), " ", "_")))
}

func recosted(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.T("story.recosted", e.GetMaterialRecosted().GetProductName())
}

func undone(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	u := e.GetStockEntryUndone()
	return v.T("story.entry.undone", u.GetProductName()) + because(u.GetReason())
}
