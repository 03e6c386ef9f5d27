package server_test

import (
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// tomorrow is an instant that holds last until, in whole milliseconds.
var tomorrow = timestamppb.New(time.Now().Add(24 * time.Hour).Truncate(time.Millisecond))

// given is a deposit in cash.
func given(units int64) *salesv1.DepositGiven {
	return &salesv1.DepositGiven{Amount: usd(units), Method: salesv1.DepositMethod_DEPOSIT_METHOD_CASH}
}

// hold keeps a piece for Ana at 240 with a deposit of 40, which is kept if she does not come.
func hold(piece string) *salesv1.HoldPieceRequest {
	return &salesv1.HoldPieceRequest{RequestId: svctest.NewID(), Piece: piece, Buyer: " Ana  Ruiz ", UntilTime: tomorrow, Price: usd(240), Deposit: given(40),
		LapseRule: salesv1.LapseRule_LAPSE_RULE_KEPT}
}

// holds lists a piece and keeps it for Ana.
func (b *bundle) holds(t *testing.T) (piece string, h *salesv1.Hold) {
	t.Helper()
	piece = b.piece()
	b.list(t, piece)
	resp, err := b.HoldPiece(svctest.Ctx(t), hold(piece))
	if err != nil {
		t.Fatal(err)
	}
	return piece, resp.Hold
}

// events are the newest so many events of a piece; their versions must follow each other.
func (b *bundle) newest(t *testing.T, piece string, n int) []*eventsv1.Envelope {
	t.Helper()
	var of []*eventsv1.Envelope
	for _, e := range b.Events(t) {
		if "pieces/"+e.PieceId == piece {
			of = append(of, e)
		}
	}
	for i, e := range of {
		if e.Version != int64(i+1) {
			t.Errorf("event %d of the piece has version %d", i+1, e.Version)
		}
	}
	return of[len(of)-n:]
}

func TestServer_HoldPiece(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	b.list(t, piece)
	r := hold(piece)
	resp, err := b.HoldPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	h := resp.Hold
	deposit := &salesv1.Deposit{Name: h.GetDeposits()[0].GetName(), Piece: piece, Tag: 1, State: salesv1.Deposit_STATE_HELD, Hold: h.Name, From: "Ana Ruiz", Amount: usd(40),
		Method: salesv1.DepositMethod_DEPOSIT_METHOD_CASH, TakeTime: h.HoldTime, Used: usd(0), Returned: usd(0), Kept: usd(0), Left: usd(40)}
	want := &salesv1.Hold{Name: h.Name, Piece: piece, Tag: 1, State: salesv1.Hold_STATE_OPEN, Buyer: "Ana Ruiz", Price: usd(240), HoldTime: h.HoldTime, UntilTime: tomorrow,
		LapseRule: salesv1.LapseRule_LAPSE_RULE_KEPT, Deposits: []*salesv1.Deposit{deposit}}
	differ(t, "HoldPiece", want, h)
	l := b.get(t, piece)
	if l.State != salesv1.Listing_STATE_LISTED || l.Hold != h.Name || l.HeldFor != "Ana Ruiz" || !l.HeldUntilTime.AsTime().Equal(tomorrow.AsTime()) {
		t.Errorf("held, its listing is %v", l)
	}
	differ(t, "the listing of the answer", l, resp.Listing)
	listed, err := b.ListHolds(t.Context(), &salesv1.ListHoldsRequest{Piece: piece, State: salesv1.Hold_STATE_OPEN})
	if err != nil || len(listed.Holds) != 1 {
		t.Fatalf("ListHolds = %v, %v", listed, err)
	}
	differ(t, "ListHolds", want, listed.Holds[0])
	e := b.newest(t, piece, 2)
	differ(t, "event", &eventsv1.PieceHeld{HoldId: bareOf(h.Name), Buyer: "Ana Ruiz", UntilTime: tomorrow, Price: usd(240)}, e[0].GetPieceHeld())
	differ(t, "event", &eventsv1.DepositTaken{DepositId: bareOf(deposit.Name), HoldId: bareOf(h.Name), From: "Ana Ruiz", Amount: usd(40), Method: "cash"}, e[1].GetDepositTaken())
	again, err := b.HoldPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "asked again", resp, again)

	edge := salesv1.NewSalesServiceClient(b.Edge)
	told, err := edge.GetListing(b.As(t, typev1.Role_ROLE_HELPER), &salesv1.GetListingRequest{Name: l.Name})
	if err != nil || told.Listing.HeldUntilTime == nil || told.Listing.HeldFor != "" {
		t.Errorf("a helper is told %v, %v; want until when, and not for whom", told, err)
	}
}

// bareOf is the id in a name.
func bareOf(name string) string { return name[strings.IndexByte(name, '/')+1:] }

func TestServer_HoldPiece_Refuses(t *testing.T) {
	b := setup(t)
	held, _ := b.holds(t)
	sold, free, commission := b.piece(), b.piece(), b.commission()
	b.list(t, free)
	b.sell(t, sold)
	change := func(do func(*salesv1.HoldPieceRequest)) *salesv1.HoldPieceRequest {
		r := hold(free)
		do(r)
		return r
	}
	for name, c := range map[string]struct {
		r             *salesv1.HoldPieceRequest
		kind          fault.Kind
		reason, field string
	}{
		"Unknown":     {hold(id.Name("pieces", id.New())), fault.NotFound, "PIECE_NOT_FOUND", ""},
		"Scrapped":    {hold(b.intake.take(intakev1.Piece_STATE_SCRAPPED)), fault.Precondition, "PIECE_SCRAPPED", ""},
		"Sold":        {hold(sold), fault.Precondition, "PIECE_SOLD", ""},
		"NotListed":   {hold(b.piece()), fault.Precondition, "PIECE_NOT_LISTED", ""},
		"ClientsOwn":  {hold(commission), fault.Precondition, "PIECE_IS_COMMISSION", ""},
		"HeldAlready": {hold(held), fault.Precondition, "PIECE_HELD", ""},
		"Past":        {change(func(r *salesv1.HoldPieceRequest) { r.UntilTime = then }), fault.Invalid, "HOLD_UNTIL_PAST", "until_time"},
		"TooLong":     {change(func(r *salesv1.HoldPieceRequest) { r.UntilTime = timestamppb.New(time.Now().AddDate(2, 0, 0)) }), fault.Invalid, "HOLD_TOO_LONG", "until_time"},
		"NoTime":      {change(func(r *salesv1.HoldPieceRequest) { r.UntilTime = nil }), fault.Invalid, "INVALID_FIELD", "until_time"},
		"NoInstant":   {change(func(r *salesv1.HoldPieceRequest) { r.UntilTime = &timestamppb.Timestamp{Seconds: 1 << 60} }), fault.Invalid, "TIME_MALFORMED", "until_time"},
		"NoBuyer":     {change(func(r *salesv1.HoldPieceRequest) { r.Buyer = " " }), fault.Invalid, "INVALID_FIELD", "buyer"},
		"NoDeposit":   {change(func(r *salesv1.HoldPieceRequest) { r.Deposit = given(0) }), fault.Invalid, "DEPOSIT_ZERO", "deposit.amount"},
		"Negative":    {change(func(r *salesv1.HoldPieceRequest) { r.Deposit = given(-1) }), fault.Invalid, "AMOUNT_NEGATIVE", "deposit.amount"},
		"NoMethod":    {change(func(r *salesv1.HoldPieceRequest) { r.Deposit.Method = 0 }), fault.Invalid, "INVALID_FIELD", "deposit.method"},
		"AbovePrice":  {change(func(r *salesv1.HoldPieceRequest) { r.Deposit = given(241) }), fault.Precondition, "DEPOSIT_ABOVE_PRICE", "deposit.amount"},
		"NoRule":      {change(func(r *salesv1.HoldPieceRequest) { r.LapseRule = 0 }), fault.Invalid, "LAPSE_RULE_UNSAID", "lapse_rule"},
	} {
		t.Run(name, func(t *testing.T) {
			f := svctest.Refused(t, b.Service, b.HoldPiece, c.r, c.kind, c.reason)
			if c.field != "" {
				fields(t, f, c.field)
			}
		})
	}
	f := svctest.Refused(t, b.Service, b.HoldPiece, hold(held), fault.Precondition, "PIECE_HELD")
	zone, _ := time.LoadLocation("America/New_York")
	if until := tomorrow.AsTime().In(zone).Format("2006-01-02 15:04 MST"); !strings.Contains(f.Text, "Ana Ruiz") || !strings.Contains(f.Text, until) || f.Meta["until"] == "" {
		t.Errorf("PIECE_HELD says %q, %v; want for whom and until %s", f.Text, f.Meta, until)
	}
}

func TestServer_ExtendHold(t *testing.T) {
	b := setup(t)
	piece, h := b.holds(t)
	later := timestamppb.New(tomorrow.AsTime().Add(time.Hour))
	extend := func(until *timestamppb.Timestamp) *salesv1.ExtendHoldRequest {
		return &salesv1.ExtendHoldRequest{RequestId: svctest.NewID(), Hold: h.Name, UntilTime: until}
	}
	resp, err := b.ExtendHold(svctest.Ctx(t), extend(later))
	if err != nil || !resp.Hold.UntilTime.AsTime().Equal(later.AsTime()) || len(resp.Hold.Deposits) != 1 {
		t.Fatalf("ExtendHold = %v, %v", resp, err)
	}
	differ(t, "the listing of the answer", b.get(t, piece), resp.Listing)
	differ(t, "event", &eventsv1.PieceHeld{HoldId: bareOf(h.Name), Buyer: "Ana Ruiz", UntilTime: later, Price: usd(240), BeforeTime: tomorrow}, b.newest(t, piece, 1)[0].GetPieceHeld())
	svctest.Refused(t, b.Service, b.ExtendHold, extend(later), fault.Precondition, "HOLD_UNTIL_UNCHANGED")
	svctest.Refused(t, b.Service, b.ExtendHold, extend(then), fault.Invalid, "HOLD_UNTIL_PAST")
	gone := extend(tomorrow)
	gone.Hold = id.Name("holds", id.New())
	svctest.Refused(t, b.Service, b.ExtendHold, gone, fault.NotFound, "HOLD_NOT_FOUND")
	gone.Hold = piece
	svctest.Refused(t, b.Service, b.ExtendHold, gone, fault.Invalid, "INVALID_NAME")
	b.release(t, h, salesv1.LapseRule_LAPSE_RULE_UNSPECIFIED)
	svctest.Refused(t, b.Service, b.ExtendHold, extend(tomorrow), fault.Precondition, "HOLD_NOT_OPEN")
}

func (b *bundle) release(t *testing.T, h *salesv1.Hold, deposit salesv1.LapseRule) *salesv1.Hold {
	t.Helper()
	resp, err := b.ReleaseHold(svctest.Ctx(t), &salesv1.ReleaseHoldRequest{RequestId: svctest.NewID(), Hold: h.Name, Reason: "she found another", Deposit: deposit})
	if err != nil {
		t.Fatal(err)
	}
	return resp.Hold
}

// A hold that is released lets the piece be sold; its deposit is kept or given back as was agreed, unless something else is said.
func TestServer_ReleaseHold(t *testing.T) {
	for name, c := range map[string]struct {
		said  salesv1.LapseRule
		state salesv1.Deposit_State
		how   eventsv1.DepositSettled_How
	}{
		"AsAgreed":  {salesv1.LapseRule_LAPSE_RULE_UNSPECIFIED, salesv1.Deposit_STATE_KEPT, eventsv1.DepositSettled_HOW_KEPT},
		"GivenBack": {salesv1.LapseRule_LAPSE_RULE_GIVEN_BACK, salesv1.Deposit_STATE_RETURNED, eventsv1.DepositSettled_HOW_RETURNED},
	} {
		t.Run(name, func(t *testing.T) {
			b := setup(t)
			piece, h := b.holds(t)
			svctest.Refused(t, b.Service, b.WithdrawListing, withdraw(piece), fault.Precondition, "PIECE_HELD")
			released := b.release(t, h, c.said)
			if released.State != salesv1.Hold_STATE_RELEASED || released.Reason != "she found another" || released.EndTime == nil || released.Deposits[0].State != c.state {
				t.Errorf("released, it is %v", released)
			}
			e := b.newest(t, piece, 2)
			differ(t, "event", &eventsv1.HoldEnded{HoldId: bareOf(h.Name), Buyer: "Ana Ruiz", How: eventsv1.HoldEnded_HOW_RELEASED, Reason: "she found another"}, e[0].GetHoldEnded())
			differ(t, "event", &eventsv1.DepositSettled{DepositId: bareOf(h.Deposits[0].Name), From: "Ana Ruiz", Amount: usd(40), How: c.how, Reason: "she found another", Left: usd(0)}, e[1].GetDepositSettled())
			if l := b.get(t, piece); l.Hold != "" || l.HeldUntilTime != nil || l.State != salesv1.Listing_STATE_LISTED || l.Etag != `"5"` {
				t.Errorf("after it, the listing is %v", l)
			}
			svctest.Refused(t, b.Service, b.ReleaseHold, &salesv1.ReleaseHoldRequest{RequestId: svctest.NewID(), Hold: h.Name, Reason: "again"}, fault.Precondition, "HOLD_NOT_OPEN")
			b.sell(t, piece)
		})
	}
}

func TestServer_SellPiece_Held(t *testing.T) {
	b := setup(t)
	piece, h := b.holds(t)
	other, _ := b.holds(t)
	of := func(hold, buyer string) *salesv1.SellPieceRequest {
		r := sell(piece)
		r.Hold, r.Buyer = hold, buyer
		return r
	}
	refused := func(r *salesv1.SellPieceRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, b.Service, b.SellPiece, r, kind, reason)
	}
	refused(of("", "Berta"), fault.Precondition, "PIECE_HELD")
	refused(of("", "Ana Ruiz"), fault.Precondition, "PIECE_HELD")
	refused(of(h.Name, "Berta"), fault.Precondition, "HOLD_FOR_ANOTHER")
	refused(of(b.get(t, other).Hold, ""), fault.NotFound, "HOLD_NOT_FOUND")
	refused(of(id.Name("holds", id.New()), ""), fault.NotFound, "HOLD_NOT_FOUND")
	refused(of("holds/7", ""), fault.Invalid, "INVALID_NAME")
	cheap := of(h.Name, "")
	cheap.Price, cheap.Tax, cheap.Fee = usd(36), usd(3), usd(0)
	refused(cheap, fault.Precondition, "DEPOSIT_ABOVE_PRICE")

	r := of(h.Name, "")
	resp, err := b.SellPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "paid before", usd(40), resp.Sale.Deposit)
	if resp.Sale.Buyer != "Ana Ruiz" || resp.Listing.Hold != "" || resp.Listing.State != salesv1.Listing_STATE_SOLD {
		t.Errorf("SellPiece = %v", resp)
	}
	differ(t, "the listing of the answer", b.get(t, piece), resp.Listing)
	e := b.newest(t, piece, 1)[0]
	differ(t, "in the event", usd(40), e.GetPieceSold().GetDeposit())
	listed, err := b.ListDeposits(t.Context(), &salesv1.ListDepositsRequest{Piece: piece})
	if err != nil || len(listed.Deposits) != 1 || listed.Deposits[0].State != salesv1.Deposit_STATE_USED || listed.Deposits[0].Used.Units != 40 || listed.Deposits[0].Left.Units != 0 {
		t.Errorf("its deposits are %v, %v", listed, err)
	}
	all, err := b.ListHolds(t.Context(), &salesv1.ListHoldsRequest{Piece: piece})
	if err != nil || len(all.Holds) != 1 || all.Holds[0].State != salesv1.Hold_STATE_SOLD {
		t.Errorf("its holds are %v, %v", all, err)
	}
	refused(of(h.Name, ""), fault.Precondition, "HOLD_NOT_OPEN")
	svctest.Refused(t, b.Service, b.HoldPiece, hold(piece), fault.Precondition, "PIECE_SOLD")
}

// In a set a piece that is held is sold by its hold, and the deposit pays for its share alone.
func TestServer_SellSet_Held(t *testing.T) {
	b := setup(t)
	held, h := b.holds(t)
	free := b.piece()
	b.list(t, free)
	set := func(hold string, price int64) *salesv1.SellSetRequest {
		return &salesv1.SellSetRequest{RequestId: svctest.NewID(), Price: usd(price), SaleTime: then,
			Items: []*salesv1.SellSetRequest_Item{{Piece: held, Hold: hold}, {Piece: free}}}
	}
	svctest.Refused(t, b.Service, b.SellSet, set("", 500), fault.Precondition, "PIECE_HELD")
	svctest.Refused(t, b.Service, b.SellSet, set(id.Name("holds", id.New()), 500), fault.NotFound, "HOLD_NOT_FOUND")
	svctest.Refused(t, b.Service, b.SellSet, set(h.Name, 78), fault.Precondition, "DEPOSIT_ABOVE_PRICE")
	resp, err := b.SellSet(svctest.Ctx(t), set(h.Name, 500))
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "paid before", usd(40), resp.Set.Parts[0].Sale.Deposit)
	if resp.Set.Parts[1].Sale.Deposit != nil || b.get(t, held).Hold != "" {
		t.Errorf("the set is %v", resp.Set)
	}
	got, err := b.GetSet(t.Context(), &salesv1.GetSetRequest{Name: resp.Set.Name})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "GetSet", resp.Set, got.Set)
	differ(t, "in the event", usd(40), b.newest(t, held, 1)[0].GetPieceSold().GetDeposit())
}
