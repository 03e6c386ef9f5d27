package server_test

import (
	"sync"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func offer(piece, buyer string, units int64) *salesv1.RecordOfferRequest {
	return &salesv1.RecordOfferRequest{RequestId: svctest.NewID(), Piece: piece, Buyer: buyer, Price: usd(units), Channel: "phone", Note: "on Saturday", OfferTime: then}
}

func (b *bundle) offers(t *testing.T, piece, buyer string, units int64) *salesv1.Offer {
	t.Helper()
	resp, err := b.RecordOffer(svctest.Ctx(t), offer(piece, buyer, units))
	if err != nil {
		t.Fatal(err)
	}
	return resp.Offer
}

func accept(o *salesv1.Offer) *salesv1.AcceptOfferRequest {
	return &salesv1.AcceptOfferRequest{RequestId: svctest.NewID(), Offer: o.Name, UntilTime: tomorrow}
}

// stateOf is what became of an offer.
func (b *bundle) stateOf(t *testing.T, o *salesv1.Offer) *salesv1.Offer {
	t.Helper()
	resp, err := b.ListOffers(t.Context(), &salesv1.ListOffersRequest{Piece: o.Piece})
	if err != nil {
		t.Fatal(err)
	}
	for _, got := range resp.Offers {
		if got.Name == o.Name {
			return got
		}
	}
	t.Fatalf("no offer %s among %v", o.Name, resp.Offers)
	return nil
}

// Two offer, the shop answers one, accepts it, and the other is passed over; each thing is an event.
func TestServer_AcceptOffer(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	b.list(t, piece)
	ana, bert := b.offers(t, piece, "Ana", 200), b.offers(t, piece, "Bert", 220)
	want := &salesv1.Offer{Name: ana.Name, Piece: piece, Tag: 1, State: salesv1.Offer_STATE_OPEN, Buyer: "Ana", Price: usd(200), Channel: "phone", OfferTime: then, Note: "on Saturday"}
	differ(t, "RecordOffer", want, ana)
	countered, err := b.CounterOffer(svctest.Ctx(t), &salesv1.CounterOfferRequest{RequestId: svctest.NewID(), Offer: ana.Name, Price: usd(230), UntilTime: tomorrow})
	if err != nil {
		t.Fatal(err)
	}
	want.State, want.CounterPrice, want.UntilTime = salesv1.Offer_STATE_COUNTERED, usd(230), tomorrow
	differ(t, "CounterOffer", want, countered.Offer)
	differ(t, "event", &eventsv1.OfferMade{OfferId: bareOf(ana.Name), Buyer: "Ana", Price: usd(230), Counter: true, UntilTime: tomorrow}, b.Last(t).GetOfferMade())

	r := accept(ana)
	r.Deposit, r.LapseRule = given(30), salesv1.LapseRule_LAPSE_RULE_GIVEN_BACK
	resp, err := b.AcceptOffer(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	h := resp.Hold
	if h.Buyer != "Ana" || h.Price.Units != 230 || h.State != salesv1.Hold_STATE_OPEN || h.Deposits[0].From != "Ana" || resp.Offer.Hold != h.Name || resp.Offer.State != salesv1.Offer_STATE_ACCEPTED {
		t.Errorf("AcceptOffer = %v", resp)
	}
	differ(t, "the listing of the answer", b.get(t, piece), resp.Listing)
	differ(t, "the offer", resp.Offer, b.stateOf(t, ana))
	if got := b.stateOf(t, bert); got.State != salesv1.Offer_STATE_PASSED_OVER || got.EndTime == nil {
		t.Errorf("the other is %v", got)
	}
	e := b.newest(t, piece, 4)
	differ(t, "event", &eventsv1.PieceHeld{HoldId: bareOf(h.Name), Buyer: "Ana", UntilTime: tomorrow, Price: usd(230), OfferId: bareOf(ana.Name)}, e[0].GetPieceHeld())
	differ(t, "event", &eventsv1.DepositTaken{DepositId: bareOf(h.Deposits[0].Name), HoldId: bareOf(h.Name), From: "Ana", Amount: usd(30), Method: "cash"}, e[1].GetDepositTaken())
	differ(t, "event", &eventsv1.OfferEnded{OfferId: bareOf(ana.Name), Buyer: "Ana", How: eventsv1.OfferEnded_HOW_ACCEPTED, Price: usd(230)}, e[2].GetOfferEnded())
	differ(t, "event", &eventsv1.OfferEnded{OfferId: bareOf(bert.Name), Buyer: "Bert", How: eventsv1.OfferEnded_HOW_PASSED_OVER, Price: usd(220)}, e[3].GetOfferEnded())
	again, err := b.AcceptOffer(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "asked again", resp, again)
	svctest.Refused(t, b.Service, b.AcceptOffer, accept(ana), fault.Precondition, "OFFER_NOT_OPEN")
	svctest.Refused(t, b.Service, b.AcceptOffer, accept(bert), fault.Precondition, "OFFER_NOT_OPEN")
	waits := b.offers(t, piece, "Cleo", 300)
	svctest.Refused(t, b.Service, b.AcceptOffer, accept(waits), fault.Precondition, "PIECE_HELD")
	sold := sell(piece)
	sold.Hold, sold.Buyer = h.Name, ""
	if _, err := b.SellPiece(svctest.Ctx(t), sold); err != nil {
		t.Fatal(err)
	}
	if got := b.stateOf(t, waits); got.State != salesv1.Offer_STATE_PASSED_OVER {
		t.Errorf("once it is sold, who waited is %v", got)
	}
}

func TestServer_Offers_End(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	b.list(t, piece)
	declined, withdrawn, left := b.offers(t, piece, "Ana", 100), b.offers(t, piece, "Bert", 110), b.offers(t, piece, "Cleo", 120)
	d, err := b.DeclineOffer(svctest.Ctx(t), &salesv1.DeclineOfferRequest{RequestId: svctest.NewID(), Offer: declined.Name, Reason: "too little"})
	if err != nil || d.Offer.State != salesv1.Offer_STATE_DECLINED || d.Offer.Reason != "too little" {
		t.Errorf("DeclineOffer = %v, %v", d, err)
	}
	differ(t, "event", &eventsv1.OfferEnded{OfferId: bareOf(declined.Name), Buyer: "Ana", How: eventsv1.OfferEnded_HOW_DECLINED, Reason: "too little", Price: usd(100)}, b.Last(t).GetOfferEnded())
	w, err := b.WithdrawOffer(svctest.Ctx(t), &salesv1.WithdrawOfferRequest{RequestId: svctest.NewID(), Offer: withdrawn.Name})
	if err != nil || w.Offer.State != salesv1.Offer_STATE_WITHDRAWN {
		t.Errorf("WithdrawOffer = %v, %v", w, err)
	}
	svctest.Refused(t, b.Service, b.DeclineOffer, &salesv1.DeclineOfferRequest{RequestId: svctest.NewID(), Offer: withdrawn.Name}, fault.Precondition, "OFFER_NOT_OPEN")
	if _, err := b.WithdrawListing(svctest.Ctx(t), withdraw(piece)); err != nil {
		t.Fatal(err)
	}
	if got := b.stateOf(t, left); got.State != salesv1.Offer_STATE_PASSED_OVER {
		t.Errorf("of a piece that is not for sale any more it is %v", got)
	}
	b.newest(t, piece, 1)
	for state, n := range map[salesv1.Offer_State]int{salesv1.Offer_STATE_DECLINED: 1, salesv1.Offer_STATE_OPEN: 0, salesv1.Offer_STATE_UNSPECIFIED: 3} {
		got, err := b.ListOffers(t.Context(), &salesv1.ListOffersRequest{State: state})
		if err != nil || len(got.Offers) != n {
			t.Errorf("ListOffers(%v) = %v, %v; want %d", state, got, err, n)
		}
	}
	var names []string
	r := &salesv1.ListOffersRequest{PageSize: 2}
	for pages := 0; pages == 0 || r.PageToken != ""; pages++ {
		page, err := b.ListOffers(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range page.Offers {
			names = append(names, o.Name)
		}
		r.PageToken = page.NextPageToken
	}
	if len(names) != 3 || names[0] != left.Name || names[2] != declined.Name {
		t.Errorf("by pages %v, want the newest first", names)
	}
}

func TestServer_Offers_Refuse(t *testing.T) {
	b := setup(t)
	piece, sold := b.piece(), b.piece()
	b.list(t, piece)
	b.sell(t, sold)
	record := func(r *salesv1.RecordOfferRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, b.Service, b.RecordOffer, r, kind, reason)
	}
	record(offer(id.Name("pieces", id.New()), "Ana", 1), fault.NotFound, "PIECE_NOT_FOUND")
	record(offer(sold, "Ana", 1), fault.Precondition, "PIECE_SOLD")
	record(offer(b.piece(), "Ana", 1), fault.Precondition, "PIECE_NOT_LISTED")
	record(offer(b.commission(), "Ana", 1), fault.Precondition, "PIECE_IS_COMMISSION")
	record(offer(piece, "Ana", 0), fault.Invalid, "PRICE_ZERO")
	record(offer(piece, "", 5), fault.Invalid, "INVALID_FIELD")
	past := offer(piece, "Ana", 5)
	past.UntilTime = then
	record(past, fault.Invalid, "OFFER_UNTIL_PAST")
	o := b.offers(t, piece, "Ana", 200)
	counter := func(units int64, until *timestamppb.Timestamp) *salesv1.CounterOfferRequest {
		return &salesv1.CounterOfferRequest{RequestId: svctest.NewID(), Offer: o.Name, Price: usd(units), UntilTime: until}
	}
	svctest.Refused(t, b.Service, b.CounterOffer, counter(200, nil), fault.Precondition, "COUNTER_NOT_ABOVE_OFFER")
	svctest.Refused(t, b.Service, b.CounterOffer, counter(0, nil), fault.Invalid, "PRICE_ZERO")
	svctest.Refused(t, b.Service, b.CounterOffer, counter(210, then), fault.Invalid, "OFFER_UNTIL_PAST")
	gone := accept(o)
	gone.Offer = id.Name("offers", id.New())
	svctest.Refused(t, b.Service, b.AcceptOffer, gone, fault.NotFound, "BUYER_OFFER_NOT_FOUND")
	late := accept(o)
	late.UntilTime = then
	svctest.Refused(t, b.Service, b.AcceptOffer, late, fault.Invalid, "HOLD_UNTIL_PAST")
	soon := offer(piece, "Bert", 210)
	soon.UntilTime = timestamppb.New(time.Now().Add(300 * time.Millisecond))
	resp, err := b.RecordOffer(svctest.Ctx(t), soon)
	if err != nil {
		t.Fatal(err)
	}
	for b.stateOf(t, resp.Offer).State != salesv1.Offer_STATE_LAPSED { // until its time is over
		time.Sleep(20 * time.Millisecond)
	}
	svctest.Refused(t, b.Service, b.AcceptOffer, accept(resp.Offer), fault.Precondition, "OFFER_LAPSED")
}

// Many want one piece at the same moment: some accept an offer, some hold it, some buy it. One wins, everybody else is told that it is held
// or sold, and nothing else has changed.
func TestServer_OnePieceManyBuyers(t *testing.T) {
	b := setup(t)
	for round := range 4 {
		piece := b.piece()
		b.list(t, piece)
		var offers []*salesv1.Offer
		for range 8 {
			offers = append(offers, b.offers(t, piece, "Offerer", 200))
		}
		var tries []func() error
		for _, o := range offers {
			tries = append(tries,
				func() error { _, err := b.AcceptOffer(svctest.Ctx(t), accept(o)); return err },
				func() error { _, err := b.HoldPiece(svctest.Ctx(t), hold(piece)); return err },
				func() error { _, err := b.SellPiece(svctest.Ctx(t), sell(piece)); return err })
		}
		var all sync.WaitGroup
		var mu sync.Mutex
		won, told := 0, map[string]int{}
		for _, try := range tries {
			all.Go(func() {
				err := try()
				mu.Lock()
				defer mu.Unlock()
				if err == nil {
					won++
					return
				}
				f := fault.Of(err)
				if f == nil || f.Kind != fault.Precondition {
					t.Errorf("a loser is told %v", err)
					return
				}
				told[f.Reason]++
			})
		}
		all.Wait()
		if won != 1 || told["PIECE_HELD"]+told["PIECE_SOLD"]+told["OFFER_NOT_OPEN"] != len(tries)-1 {
			t.Fatalf("round %d: %d won, others were told %v; want one and %d", round, won, told, len(tries)-1)
		}
		b.oneWon(t, piece, offers)
	}
}

// oneWon checks that a piece was held or sold once, and that each offer for it is over.
func (b *bundle) oneWon(t *testing.T, piece string, offers []*salesv1.Offer) {
	t.Helper()
	l := b.get(t, piece)
	holds, err := b.ListHolds(t.Context(), &salesv1.ListHoldsRequest{Piece: piece})
	if err != nil || len(holds.Holds)+len(l.Sales) != 1 || (l.Hold != "") == (l.State == salesv1.Listing_STATE_SOLD) {
		t.Errorf("holds %v, listing %v, %v; want one of them", holds, l, err)
	}
	accepted := 0
	for _, o := range offers {
		switch b.stateOf(t, o).State {
		case salesv1.Offer_STATE_ACCEPTED:
			accepted++
		case salesv1.Offer_STATE_PASSED_OVER:
		default:
			t.Errorf("an offer is %v", b.stateOf(t, o))
		}
	}
	kinds := map[string]int{}
	b.newest(t, piece, 0)
	for _, e := range b.Events(t) {
		if "pieces/"+e.PieceId == piece {
			kinds[string(e.ProtoReflect().WhichOneof(e.ProtoReflect().Descriptor().Oneofs().ByName("payload")).Name())]++
		}
	}
	if kinds["piece_held"]+kinds["piece_sold"] != 1 || kinds["offer_ended"] != len(offers) || kinds["offer_made"] != len(offers) || accepted > 1 ||
		kinds["deposit_taken"] != len(b.deposits(t, piece)) || len(b.deposits(t, piece)) > 1 {
		t.Errorf("events %v with %d accepted and deposits %v", kinds, accepted, b.deposits(t, piece))
	}
}
