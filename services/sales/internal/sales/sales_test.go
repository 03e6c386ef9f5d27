package sales_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	"tackfree/services/sales/internal/sales"
)

var (
	usd   = money.Currency{Code: "USD", Digits: 2}
	piece = sales.Piece{ID: id.New(), Tag: 7}
	noon  = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
)

// must ends the test when a command that prepares it is refused.
func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func list(l *sales.Listing) error { return l.List(piece, noon, wire.NameKey, "market stall", 30000) }

func change(l *sales.Listing) error {
	_, err := l.ChangeAskingPrice(25000)
	return err
}

func sell(l *sales.Listing) error {
	_, err := l.Sell(piece, sales.Sale{ID: id.New(), Amounts: sales.Amounts{Price: 24000, Tax: 1920, Fee: 2400}})
	return err
}

// giveBack refunds something of the listing's first sale; no sale can be named before it.
func giveBack(returned bool) func(*sales.Listing) error {
	return func(l *sales.Listing) error { return refund(l, 0, returned) }
}

// giveBackLast refunds something of the listing's newest sale.
func giveBackLast(returned bool) func(*sales.Listing) error {
	return func(l *sales.Listing) error { return refund(l, len(l.Sales)-1, returned) }
}

// refund gives back something of the sale at a place, of none when there is no such place.
func refund(l *sales.Listing, place int, returned bool) error {
	r := sales.Refund{ID: id.New(), Amounts: sales.Amounts{Price: 1000}, PieceReturned: returned}
	if place >= 0 && place < len(l.Sales) {
		r.Sale = l.Sales[place].ID
	}
	_, err := l.Refund(r, usd)
	return err
}

// situations are the states, once as at first, once after a sale that came back, and what
// follows when the second sale comes back too.
var situations = map[string][]func(*sales.Listing) error{
	"NeverListed":   {},
	"Listed":        {list},
	"Sold":          {list, sell},
	"CameBack":      {list, sell, giveBack(true)},
	"ListedAgain":   {list, sell, giveBack(true), list},
	"SoldAgain":     {list, sell, giveBack(true), sell},
	"CameBackAgain": {list, sell, giveBack(true), sell, giveBackLast(true)},
}

func in(t *testing.T, situation string) sales.Listing {
	t.Helper()
	l := sales.New(piece)
	for _, command := range situations[situation] {
		must(t, command(&l))
	}
	return l
}

// Every command in every situation: the state it leads to, or the reason it is refused.
func TestListing_EveryCommandInEveryState(t *testing.T) {
	commands := map[string]func(*sales.Listing) error{
		"List": list, "ChangeAskingPrice": change, "Sell": sell,
		"RefundFirst": giveBack(false), "ReturnFirst": giveBack(true), "RefundLast": giveBackLast(false), "ReturnLast": giveBackLast(true),
	}
	want := map[string]map[string]string{
		"NeverListed": {"List": "listed", "ChangeAskingPrice": "PIECE_NOT_LISTED", "Sell": "sold",
			"RefundFirst": "SALE_NOT_FOUND", "ReturnFirst": "SALE_NOT_FOUND", "RefundLast": "SALE_NOT_FOUND", "ReturnLast": "SALE_NOT_FOUND"},
		"Listed": {"List": "PIECE_LISTED", "ChangeAskingPrice": "listed", "Sell": "sold",
			"RefundFirst": "SALE_NOT_FOUND", "ReturnFirst": "SALE_NOT_FOUND", "RefundLast": "SALE_NOT_FOUND", "ReturnLast": "SALE_NOT_FOUND"},
		"Sold": {"List": "PIECE_SOLD", "ChangeAskingPrice": "PIECE_SOLD", "Sell": "PIECE_SOLD",
			"RefundFirst": "sold", "ReturnFirst": "not_listed", "RefundLast": "sold", "ReturnLast": "not_listed"},
		"CameBack": {"List": "listed", "ChangeAskingPrice": "PIECE_NOT_LISTED", "Sell": "sold",
			"RefundFirst": "not_listed", "ReturnFirst": "SALE_ALREADY_RETURNED", "RefundLast": "not_listed", "ReturnLast": "SALE_ALREADY_RETURNED"},
		"ListedAgain": {"List": "PIECE_LISTED", "ChangeAskingPrice": "listed", "Sell": "sold",
			"RefundFirst": "listed", "ReturnFirst": "SALE_ALREADY_RETURNED", "RefundLast": "listed", "ReturnLast": "SALE_ALREADY_RETURNED"},
		"SoldAgain": {"List": "PIECE_SOLD", "ChangeAskingPrice": "PIECE_SOLD", "Sell": "PIECE_SOLD",
			"RefundFirst": "sold", "ReturnFirst": "SALE_ALREADY_RETURNED", "RefundLast": "sold", "ReturnLast": "not_listed"},
		"CameBackAgain": {"List": "listed", "ChangeAskingPrice": "PIECE_NOT_LISTED", "Sell": "sold",
			"RefundFirst": "not_listed", "ReturnFirst": "SALE_ALREADY_RETURNED", "RefundLast": "not_listed", "ReturnLast": "SALE_ALREADY_RETURNED"},
	}
	for situation := range situations {
		for name, command := range commands {
			t.Run(situation+"/"+name, func(t *testing.T) { check(t, in(t, situation), command, want[situation][name]) })
		}
	}
}

// check runs a command that must lead to a state, one version on, or be refused with a
// reason and change nothing.
func check(t *testing.T, l sales.Listing, command func(*sales.Listing) error, want string) {
	t.Helper()
	before := l
	before.Sales = slices.Clone(l.Sales)
	err := command(&l)
	if err == nil {
		if string(l.State) != want || l.Version != before.Version+1 {
			t.Errorf("it led to %s, version %d → %d, want %s, one version on", l.State, before.Version, l.Version, want)
		}
		return
	}
	if !fault.Is(err, want) {
		t.Errorf("it was refused with %v, want %s", err, want)
	}
	if diff := cmp.Diff(before, l); diff != "" {
		t.Errorf("refused, but changed (-before +after):\n%s", diff)
	}
}

func TestListing_AskAtMost(t *testing.T) {
	for name, c := range map[string]struct {
		price, from, asked money.Amount
		version            int64
	}{
		"Less": {29_999, 30_000, 29_999, 2},
		"Same": {30_000, 0, 30_000, 1},
		"More": {30_001, 0, 30_000, 1},
	} {
		l := sales.New(piece)
		must(t, list(&l))
		from, err := l.AskAtMost(c.price)
		if err != nil || from != c.from || l.AskingPrice != c.asked || l.Version != c.version {
			t.Errorf("%s: AskAtMost = %d, %v, leaves %+v", name, from, err, l)
		}
	}
	l := sales.New(piece)
	if _, err := l.AskAtMost(100); !fault.Is(err, "PIECE_NOT_LISTED") {
		t.Errorf("of what is not listed: %v", err)
	}
}

func TestListing_List_Refuses(t *testing.T) {
	cases := map[string]struct {
		piece  sales.Piece
		price  money.Amount
		kind   fault.Kind
		reason string
	}{
		"Scrapped":   {sales.Piece{Tag: 7, Scrapped: true}, 100, fault.Precondition, "PIECE_SCRAPPED"},
		"Commission": {sales.Piece{Tag: 7, Commission: true}, 100, fault.Precondition, "PIECE_IS_COMMISSION"},
		"PriceZero":  {sales.Piece{Tag: 7}, 0, fault.Invalid, "PRICE_ZERO"},
		"NotYetIn":   {sales.Piece{Tag: 7, TakenInAt: noon.Add(time.Minute)}, 100, fault.Invalid, "TIME_BEFORE_INTAKE"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			l := sales.New(c.piece)
			err := l.List(c.piece, noon, wire.NameKey, "market stall", c.price)
			if f := fault.Of(err); f == nil || f.Kind != c.kind || f.Reason != c.reason || l.State != sales.NotListed || l.Version != 0 {
				t.Errorf("List = %v, left %+v, want %s and no change", err, l, c.reason)
			}
		})
	}
}

func TestListing_ChangeAskingPrice(t *testing.T) {
	l := in(t, "Listed")
	from, err := l.ChangeAskingPrice(25000)
	if err != nil || from != 30000 || l.AskingPrice != 25000 || l.Channel != "market stall" {
		t.Errorf("ChangeAskingPrice = %d, %v, left %+v", from, err, l)
	}
	if _, err := l.ChangeAskingPrice(25000); !fault.Is(err, "PRICE_UNCHANGED") {
		t.Errorf("the same price again = %v, want PRICE_UNCHANGED", err)
	}
	if _, err := l.ChangeAskingPrice(0); !fault.Is(err, "PRICE_ZERO") || l.AskingPrice != 25000 {
		t.Errorf("asking price of zero = %v, want PRICE_ZERO", err)
	}
}

func TestListing_Sell_Channel(t *testing.T) {
	cases := map[string]struct{ situation, given, want string }{
		"Given":           {"Listed", "auction", "auction"},
		"TheListings":     {"Listed", "", "market stall"},
		"Direct":          {"NeverListed", "", sales.Direct},
		"DirectCameBack":  {"CameBack", "", sales.Direct},
		"GivenNeverKnown": {"NeverListed", "auction", "auction"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			l := in(t, c.situation)
			listed := l.Channel
			s, err := l.Sell(piece, sales.Sale{Channel: c.given, Amounts: sales.Amounts{Price: 1}})
			must(t, err)
			if s.Channel != c.want || l.Channel != listed {
				t.Errorf("sold through %q, listed on %q, want %q and %q as before", s.Channel, l.Channel, c.want, listed)
			}
			if diff := cmp.Diff(s, l.Sales[len(l.Sales)-1]); diff != "" {
				t.Errorf("the sale returned and the one kept differ:\n%s", diff)
			}
		})
	}
}

func TestListing_Sell_Refuses(t *testing.T) {
	cases := map[string]struct {
		piece   sales.Piece
		amounts sales.Amounts
		kind    fault.Kind
		reason  string
	}{
		"PriceZero":     {sales.Piece{Tag: 7}, sales.Amounts{Tax: 100}, fault.Invalid, "PRICE_ZERO"},
		"TaxAbovePrice": {sales.Piece{Tag: 7}, sales.Amounts{Price: 100, Tax: 101}, fault.Invalid, "TAX_ABOVE_PRICE"},
		"FeeAbovePrice": {sales.Piece{Tag: 7}, sales.Amounts{Price: 100, Fee: 101}, fault.Invalid, "FEE_ABOVE_PRICE"},
		"Scrapped":      {sales.Piece{Tag: 7, Scrapped: true}, sales.Amounts{Price: 100}, fault.Precondition, "PIECE_SCRAPPED"},
		"NotYetIn":      {sales.Piece{Tag: 7, TakenInAt: noon.Add(time.Minute)}, sales.Amounts{Price: 100}, fault.Invalid, "TIME_BEFORE_INTAKE"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			l := sales.New(c.piece)
			_, err := l.Sell(c.piece, sales.Sale{Amounts: c.amounts, SoldAt: noon})
			if f := fault.Of(err); f == nil || f.Kind != c.kind || f.Reason != c.reason || l.State != sales.NotListed || len(l.Sales) != 0 {
				t.Errorf("Sell = %v, left %+v, want %s and no change", err, l, c.reason)
			}
		})
	}
}

func TestListing_Sell_AsMuchFeeAndTaxAsPrice(t *testing.T) {
	l := sales.New(piece)
	if _, err := l.Sell(piece, sales.Sale{Amounts: sales.Amounts{Price: 100, Tax: 100, Fee: 100}}); err != nil {
		t.Errorf("Sell with a fee and a tax of the whole price = %v", err)
	}
}

func TestListing_Sell_Commission(t *testing.T) {
	p := sales.Piece{ID: id.New(), Tag: 8, Commission: true}
	l := sales.New(p)
	if s, err := l.Sell(p, sales.Sale{Amounts: sales.Amounts{Price: 100}}); err != nil || s.Channel != sales.Direct {
		t.Errorf("invoice of a commission = %+v, %v, want a direct sale", s, err)
	}
}

// A piece that came in at 12:00:30 can be listed and sold at 12:00, as a person writes it.
func TestListing_InTheMinuteOfTheIntake(t *testing.T) {
	p := sales.Piece{ID: id.New(), Tag: 7, TakenInAt: noon.Add(30 * time.Second)}
	l := sales.New(p)
	must(t, l.List(p, noon, wire.NameKey, "market stall", 100))
	_, err := l.Sell(p, sales.Sale{Amounts: sales.Amounts{Price: 100}, SoldAt: noon})
	must(t, err)
}
