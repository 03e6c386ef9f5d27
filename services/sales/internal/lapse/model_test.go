package lapse_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// model is what a few lists say of one piece: who may have it until when, what was given on it in whole dollars, and how many offers are open.
type model struct {
	*shop
	r      *rand.Rand
	piece  string
	listed bool
	sold   string // sales/{id}
	hold   string // holds/{id}
	until  time.Time
	kept   bool // the rule of its lapse
	given  map[string]*gave
	open   map[string]bool // offers
}

// gave is a deposit: of which hold, and what became of it.
type gave struct {
	hold                     string
	amount, used, back, kept int64
	toReturn                 bool
}

func (g *gave) left() int64 { return g.amount - g.used - g.back - g.kept }

// said checks that a command was done exactly when the lists say that it can be, and else refused by a reason of theirs.
func (m *model) said(what string, err error, want string) bool {
	m.t.Helper()
	if want == "" && err != nil || want != "" && !fault.Is(err, want) {
		m.t.Fatalf("%s = %v, want %q", what, err, want)
	}
	return want == ""
}

// standing is why the piece cannot be kept or offered for; empty: it can.
func (m *model) standing() string {
	switch {
	case m.sold != "":
		return "PIECE_SOLD"
	case !m.listed:
		return "PIECE_NOT_LISTED"
	}
	return ""
}

// free is the same of one that somebody else must not have.
func (m *model) free() string {
	if why := m.standing(); why != "" || m.hold == "" {
		return why
	}
	return "PIECE_HELD"
}

// over ends what is over, as any command about the piece does first.
func (m *model) over() {
	if m.hold == "" || m.until.After(m.now) {
		return
	}
	m.ends(func(g *gave) {
		if m.kept {
			g.kept += g.left()
			return
		}
		g.toReturn = g.left() > 0
	})
}

// ends ends the hold with what becomes of each of its deposits.
func (m *model) ends(each func(*gave)) {
	for _, g := range m.given {
		if g.hold == m.hold {
			each(g)
		}
	}
	m.hold = ""
}

func (m *model) lists() {
	want := ""
	switch {
	case m.sold != "":
		want = "PIECE_SOLD"
	case m.listed:
		want = "PIECE_LISTED"
	}
	_, err := m.CreateListing(svctest.Ctx(m.t), &salesv1.CreateListingRequest{RequestId: svctest.NewID(), Piece: m.piece, Channel: "fair", AskingPrice: usd(300)})
	if m.said("CreateListing", err, want) {
		m.listed = true
	}
}

func (m *model) withdraws() {
	want := m.standing()
	if want == "" {
		if m.over(); m.hold != "" {
			want = "PIECE_HELD"
		}
	}
	_, err := m.WithdrawListing(svctest.Ctx(m.t), &salesv1.WithdrawListingRequest{RequestId: svctest.NewID(), Piece: m.piece, Reason: "a show"})
	if m.said("WithdrawListing", err, want) {
		m.listed = false
		clear(m.open)
	}
}

func (m *model) holds() {
	m.over()
	want, rule := m.free(), salesv1.LapseRule_LAPSE_RULE_GIVEN_BACK
	kept := m.r.IntN(2) == 0
	if kept {
		rule = salesv1.LapseRule_LAPSE_RULE_KEPT
	}
	until := m.now.Add(time.Duration(1+m.r.IntN(48)) * time.Hour)
	r := &salesv1.HoldPieceRequest{RequestId: svctest.NewID(), Piece: m.piece, Buyer: "Ana", UntilTime: timestamppb.New(until), LapseRule: rule}
	if m.r.IntN(2) == 0 {
		r.Deposit = card(1 + m.r.Int64N(90))
	}
	resp, err := m.HoldPiece(svctest.Ctx(m.t), r)
	if m.said("HoldPiece", err, want) {
		m.keeps(resp.Hold, until, kept)
	}
}

func (m *model) keeps(h *salesv1.Hold, until time.Time, kept bool) {
	m.hold, m.until, m.kept = h.Name, until, kept
	for _, d := range h.Deposits {
		m.given[d.Name] = &gave{hold: h.Name, amount: d.Amount.Units}
	}
	clear(m.open)
}

func card(units int64) *salesv1.DepositGiven {
	return &salesv1.DepositGiven{Amount: usd(units), Method: salesv1.DepositMethod_DEPOSIT_METHOD_CARD}
}

func (m *model) offers() {
	resp, err := m.RecordOffer(svctest.Ctx(m.t), &salesv1.RecordOfferRequest{RequestId: svctest.NewID(), Piece: m.piece, Buyer: "Bert", Price: usd(200)})
	if m.said("RecordOffer", err, m.standing()) {
		m.open[resp.Offer.Name] = true
	}
}

func (m *model) accepts() {
	for offer := range m.open {
		m.over()
		until := m.now.Add(24 * time.Hour)
		resp, err := m.AcceptOffer(svctest.Ctx(m.t), &salesv1.AcceptOfferRequest{RequestId: svctest.NewID(), Offer: offer, UntilTime: timestamppb.New(until), Deposit: card(20), LapseRule: salesv1.LapseRule_LAPSE_RULE_KEPT})
		if m.said("AcceptOffer", err, m.free()) {
			m.keeps(resp.Hold, until, true)
		}
		return
	}
}

func (m *model) extends() {
	if m.hold == "" {
		return
	}
	hold, until := m.hold, m.now.Add(50*time.Hour)
	m.over()
	want := ""
	if m.hold == "" {
		want = "HOLD_NOT_OPEN"
	}
	_, err := m.ExtendHold(svctest.Ctx(m.t), &salesv1.ExtendHoldRequest{RequestId: svctest.NewID(), Hold: hold, UntilTime: timestamppb.New(until)})
	if m.said("ExtendHold", err, want) {
		m.until = until
	} else {
		m.looks() // a refusal changes nothing: the hold is ended by whoever comes next
	}
}

func (m *model) releases() {
	if m.hold == "" || !m.until.After(m.now) {
		return
	}
	_, err := m.ReleaseHold(svctest.Ctx(m.t), &salesv1.ReleaseHoldRequest{RequestId: svctest.NewID(), Hold: m.hold, Reason: "she moved"})
	m.said("ReleaseHold", err, "")
	m.ends(func(g *gave) {
		if m.kept {
			g.kept += g.left()
		} else {
			g.back += g.left()
		}
	})
}

func (m *model) takes() {
	if m.hold == "" || !m.until.After(m.now) {
		return
	}
	resp, err := m.TakeDeposit(svctest.Ctx(m.t), &salesv1.TakeDepositRequest{RequestId: svctest.NewID(), Piece: m.piece, Deposit: card(1 + m.r.Int64N(40))})
	want := ""
	if m.said("TakeDeposit", err, want) {
		m.given[resp.Deposit.Name] = &gave{hold: m.hold, amount: resp.Deposit.Amount.Units}
	}
}

func (m *model) settles() {
	for name, g := range m.given {
		m.over()
		part, keep := 1+m.r.Int64N(60), m.r.IntN(2) == 0
		want := ""
		switch {
		case keep && g.hold == m.hold:
			want = "HOLD_OPEN"
		case part > g.left():
			want = "DEPOSIT_ABOVE_HELD"
		}
		var err error
		if keep {
			_, err = m.KeepDeposit(svctest.Ctx(m.t), &salesv1.KeepDepositRequest{RequestId: svctest.NewID(), Deposit: name, Amount: usd(part), Reason: "so it was agreed"})
		} else {
			_, err = m.ReturnDeposit(svctest.Ctx(m.t), &salesv1.ReturnDepositRequest{RequestId: svctest.NewID(), Deposit: name, Amount: usd(part)})
		}
		if !m.said("settling", err, want) {
			m.looks()
			return
		}
		if keep {
			g.kept += part
		} else {
			g.back += part
		}
		return
	}
}

func (m *model) sells() {
	m.over()
	r := &salesv1.SellPieceRequest{RequestId: svctest.NewID(), Piece: m.piece, Price: usd(40 + m.r.Int64N(200))}
	want, goesIn := "", int64(0)
	if m.r.IntN(3) > 0 {
		r.Hold = m.hold
	}
	for _, g := range m.given {
		if r.Hold != "" && g.hold == r.Hold {
			goesIn += g.left()
		}
	}
	switch {
	case goesIn > r.Price.Units:
		want = "DEPOSIT_ABOVE_PRICE"
	case m.sold != "":
		want = "PIECE_SOLD"
	case m.hold != r.Hold:
		want = "PIECE_HELD"
	}
	resp, err := m.SellPiece(svctest.Ctx(m.t), r)
	if !m.said("SellPiece", err, want) {
		m.looks()
		return
	}
	if resp.Sale.Deposit.GetUnits() != goesIn {
		m.t.Fatalf("of the sale %v was given before, want %d", resp.Sale.Deposit, goesIn)
	}
	m.ends(func(g *gave) { g.used += g.left() })
	m.sold, m.listed = resp.Sale.Name, false
	clear(m.open)
}

func (m *model) comesBack() {
	if m.sold == "" {
		return
	}
	_, err := m.RefundSale(svctest.Ctx(m.t), &salesv1.RefundSaleRequest{RequestId: svctest.NewID(), Sale: m.sold, Price: usd(1), PieceReturned: true, Reason: "it binds"})
	m.said("RefundSale", err, "")
	m.sold = ""
}

func (m *model) looks() {
	m.over()
	m.look()
}

// agrees holds what the service says against the lists. Money is conserved: what was given is what is left, used, given back and kept.
func (m *model) agrees() {
	m.t.Helper()
	l, err := m.GetListing(m.t.Context(), &salesv1.GetListingRequest{Name: "listings" + m.piece[len("pieces"):]})
	if err != nil || l.Listing.Hold != m.hold || (l.Listing.State == salesv1.Listing_STATE_SOLD) != (m.sold != "") || (l.Listing.State == salesv1.Listing_STATE_LISTED) != m.listed {
		m.t.Fatalf("listing %v, %v; want hold %q, sold %q, listed %t", l, err, m.hold, m.sold, m.listed)
	}
	all, err := m.ListDeposits(m.t.Context(), &salesv1.ListDepositsRequest{Piece: m.piece, PageSize: 1000})
	if err != nil || len(all.Deposits) != len(m.given) {
		m.t.Fatalf("deposits %v, %v; want %d", all, err, len(m.given))
	}
	for _, d := range all.Deposits {
		g := m.given[d.Name]
		if d.Used.Units != g.used || d.Returned.Units != g.back || d.Kept.Units != g.kept || d.Left.Units != g.left() || g.left() < 0 ||
			(d.State == salesv1.Deposit_STATE_TO_RETURN) != (g.toReturn && g.left() > 0) || (d.State == salesv1.Deposit_STATE_HELD) != (!g.toReturn && g.left() > 0) {
			m.t.Fatalf("deposit %v, want %+v", d, g)
		}
	}
	open, err := m.ListOffers(m.t.Context(), &salesv1.ListOffersRequest{Piece: m.piece, State: salesv1.Offer_STATE_OPEN, PageSize: 1000})
	if err != nil || len(open.Offers) != len(m.open) {
		m.t.Fatalf("open offers %v, %v; want %v", open, err, m.open)
	}
}

// Random commands about one piece over days, held against a few lists.
func TestModel(t *testing.T) {
	for seed := range uint64(6) {
		m := &model{shop: open(t), r: rand.New(rand.NewPCG(seed, 7)), piece: id.Name("pieces", id.New()), given: map[string]*gave{}, open: map[string]bool{}}
		m.lists()
		commands := []func(){m.lists, m.withdraws, m.holds, m.holds, m.holds, m.offers, m.offers, m.accepts, m.extends, m.releases, m.takes, m.takes, m.settles, m.settles, m.sells, m.comesBack, m.looks}
		for range 120 {
			m.now = m.now.Add(time.Duration(m.r.IntN(20)) * time.Hour)
			commands[m.r.IntN(len(commands))]()
			m.looks()
			m.agrees()
		}
		m.events(m.piece) // whose versions follow each other
	}
}
