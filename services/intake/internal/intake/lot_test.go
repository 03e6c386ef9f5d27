package intake_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/intake/internal/intake"
)

var usd = money.Currency{Code: "USD", Digits: 2}

func valued(amounts ...money.Amount) (out []intake.Weight) {
	for _, a := range amounts {
		out = append(out, intake.Weight{Value: &a})
	}
	return out
}

func shared(amounts ...money.Amount) (out []intake.Weight) {
	for _, a := range amounts {
		out = append(out, intake.Weight{Share: &a})
	}
	return out
}

// chairs are pieces that nothing is said of but that there are so many.
func chairs(n int) (out []intake.Piece) {
	for range n {
		out = append(out, intake.Piece{ID: id.New(), Parts: []intake.Part{{Label: "seat"}}})
	}
	return out
}

func buy(o intake.Offer) (intake.Lot, []intake.Piece, error) {
	l := intake.Lot{ID: id.New(), Source: "auction", Day: day(1), OnScrap: intake.Keeps, TakenInAt: monday}
	return intake.TakeInLot(l, chairs(len(o.Weights)), o, day(2), usd)
}

func bought(t *testing.T, o intake.Offer) intake.Lot {
	t.Helper()
	l, pieces, err := buy(o)
	if err != nil {
		t.Fatal(err)
	}
	for i := range pieces {
		pieces[i].Tag = int32(i + 1)
	}
	return l.Named(pieces)
}

func shares(l intake.Lot) (out []money.Amount) {
	for _, s := range l.Now().Shares {
		out = append(out, s.Amount)
	}
	return out
}

func pieces(l intake.Lot) (out []id.ID) {
	for _, s := range l.Now().Shares {
		out = append(out, s.Piece)
	}
	return out
}

// Joint cost by relative sales value: a piece bears price × its value ÷ the value of all, the rest of
// the division by largest remainders. Worked by hand; the published rows of that method are
// pkg/apportion's. The first row is the usual textbook shape, two products of which one brings three
// times as much as the other bearing three quarters and one quarter of the joint cost (from memory).
func TestTakeInLot_Splits(t *testing.T) {
	cases := map[string]struct {
		offer intake.Offer
		want  []money.Amount
	}{
		"ByValue":           {intake.Offer{Price: 40_000, Split: intake.ByValue, Weights: valued(90_000, 30_000)}, []money.Amount{30_000, 10_000}},
		"ByValueToTheCent":  {intake.Offer{Price: 18_000, Split: intake.ByValue, Weights: valued(6_000, 25_000, 9_500)}, []money.Amount{2_667, 11_111, 4_222}},
		"OneWorthNothing":   {intake.Offer{Price: 18_000, Split: intake.ByValue, Weights: valued(0, 25_000)}, []money.Amount{0, 18_000}},
		"EquallyEarlierFst": {intake.Offer{Price: 10_000, Split: intake.Equally, Weights: make([]intake.Weight, 3)}, []money.Amount{3_334, 3_333, 3_333}},
		"ByHand":            {intake.Offer{Price: 18_000, Split: intake.ByHand, Weights: shared(1, 17_999, 0)}, []money.Amount{1, 17_999, 0}},
		"Free":              {intake.Offer{Split: intake.ByHand, Weights: shared(0, 0)}, []money.Amount{0, 0}},
		"LessThanOneEach":   {intake.Offer{Price: 2, Split: intake.Equally, Weights: make([]intake.Weight, 3)}, []money.Amount{1, 1, 0}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			l, pieces, err := buy(c.offer)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, shares(l)); diff != "" {
				t.Errorf("shares (-want +got):\n%s", diff)
			}
			for i, p := range pieces {
				want := &intake.Purchase{Price: c.want[i], Source: "auction", Day: day(1), Lot: l.ID}
				if diff := cmp.Diff(want, p.Purchase); diff != "" || p.State != intake.InHand || p.Version != 1 || p.TakenInAt != monday || l.Now().Shares[i].Piece != p.ID {
					t.Errorf("piece %d is %+v, bought (-want +got):\n%s", i, p, diff)
				}
			}
			if l.Version() != 1 {
				t.Errorf("version %d, want 1", l.Version())
			}
		})
	}
}

// refused checks reason, kind and field of a refusal.
func refused(t *testing.T, err error, kind fault.Kind, reason, field string) {
	t.Helper()
	f := fault.Of(err)
	if f == nil || f.Kind != kind || f.Reason != reason || len(f.Fields) == 0 || f.Fields[0].Path != field {
		t.Errorf("it gave %v (%+v), want %s at %s", err, f, reason, field)
	}
}

func TestTakeInLot_Refuses(t *testing.T) {
	cases := map[string]struct {
		offer         intake.Offer
		reason, field string
	}{
		"NoValue":          {intake.Offer{Price: 100, Split: intake.ByValue, Weights: []intake.Weight{valued(5)[0], {}}}, "WEIGHT_MISSING", "items[1].weight"},
		"NoShare":          {intake.Offer{Price: 100, Split: intake.ByHand, Weights: []intake.Weight{{}, shared(100)[0]}}, "WEIGHT_MISSING", "items[0].weight"},
		"ShareByValue":     {intake.Offer{Price: 100, Split: intake.ByValue, Weights: shared(50, 50)}, "WEIGHT_OF_ANOTHER_SPLIT", "items[0].weight"},
		"ValueByHand":      {intake.Offer{Price: 100, Split: intake.ByHand, Weights: valued(50, 50)}, "WEIGHT_OF_ANOTHER_SPLIT", "items[0].weight"},
		"ValueEqually":     {intake.Offer{Price: 100, Split: intake.Equally, Weights: valued(50, 50)}, "WEIGHT_OF_ANOTHER_SPLIT", "items[0].weight"},
		"AllWorthNothing":  {intake.Offer{Price: 100, Split: intake.ByValue, Weights: valued(0, 0)}, "NO_EXPECTED_VALUE", "items"},
		"SharesTooSmall":   {intake.Offer{Price: 18_000, Split: intake.ByHand, Weights: shared(10_000, 7_000)}, "SHARES_DO_NOT_ADD_UP", "items"},
		"SharesOneTooMany": {intake.Offer{Price: 18_000, Split: intake.ByHand, Weights: shared(10_000, 8_001)}, "SHARES_DO_NOT_ADD_UP", "items"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			_, _, err := buy(c.offer)
			refused(t, err, fault.Invalid, c.reason, c.field)
		})
	}
}

// By how much shares are off is said in the shop's money, and which way.
func TestTakeInLot_SaysByHowMuch(t *testing.T) {
	for want, o := range map[string]intake.Offer{
		"The shares come to 170.00 USD, which is 10.00 less than the price of 180.00; change one of them.": {Price: 18_000, Split: intake.ByHand, Weights: shared(10_000, 7_000)},
		"The shares come to 180.01 USD, which is 0.01 more than the price of 180.00; change one of them.":  {Price: 18_000, Split: intake.ByHand, Weights: shared(10_000, 8_001)},
	} {
		if _, _, err := buy(o); fault.Of(err) == nil || fault.Of(err).Text != want {
			t.Errorf("it says %v, want %q", err, want)
		}
	}
}

func TestTakeInLot_RefusesItsPieces(t *testing.T) {
	offer := intake.Offer{Price: 100, Split: intake.Equally, Weights: make([]intake.Weight, 3)}
	lot := intake.Lot{ID: id.New(), Day: day(1), TakenInAt: monday}
	twice := chairs(3)
	twice[0].Tag, twice[2].Tag = 7, 7
	_, _, err := intake.TakeInLot(lot, twice, offer, day(2), usd)
	refused(t, err, fault.Invalid, "TAG_TWICE", "items[2].tag")
	alike := chairs(3)
	alike[1].Parts = []intake.Part{{Label: "seat"}, {Label: "Seat"}}
	_, _, err = intake.TakeInLot(lot, alike, offer, day(2), usd)
	refused(t, err, fault.Invalid, "PART_LABEL_TWICE", "items[1].parts[1].label")
	lot.Day = day(3)
	_, _, err = intake.TakeInLot(lot, chairs(3), offer, day(2), usd)
	refused(t, err, fault.Invalid, "PURCHASE_AFTER_INTAKE", "date")
}

// A revision is added: what was said before stays.
func TestLot_Revise(t *testing.T) {
	l := bought(t, intake.Offer{Price: 18_000, Split: intake.ByValue, Weights: valued(6_000, 25_000, 9_500)})
	first := l.Now()
	order := pieces(l)
	slices.Reverse(order)
	r := intake.Revision{Split: intake.ByValue, Pieces: order, Weights: valued(10_000, 10_000, 20_000), Reason: "the table is veneer", At: monday}
	if err := l.Revise(r, usd); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]money.Amount{9_000, 4_500, 4_500}, shares(l)); diff != "" {
		t.Errorf("shares (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(first, l.Terms[0]); diff != "" || l.Version() != 2 || l.Now().Reason != r.Reason || l.Now().SetAt != r.At || l.Now().Price != 18_000 {
		t.Errorf("version %d is %+v, and the first one changed (-before +after):\n%s", l.Version(), l.Now(), diff)
	}
	if err := l.Revise(intake.Revision{Split: intake.Equally, At: monday}, usd); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]money.Amount{6_000, 6_000, 6_000}, shares(l)); diff != "" {
		t.Errorf("equal shares (-want +got):\n%s", diff)
	}
}

func TestLot_Revise_Refuses(t *testing.T) {
	l := bought(t, intake.Offer{Price: 18_000, Split: intake.ByValue, Weights: valued(6_000, 25_000)})
	a, b, stranger := pieces(l)[0], pieces(l)[1], id.New()
	cases := map[string]struct {
		r             intake.Revision
		kind          fault.Kind
		reason, field string
	}{
		"NotOfTheLot": {intake.Revision{Split: intake.ByValue, Pieces: []id.ID{a, stranger}, Weights: valued(1, 2)}, fault.Invalid, "PIECE_NOT_OF_LOT", "items[1].piece"},
		"Twice":       {intake.Revision{Split: intake.ByValue, Pieces: []id.ID{a, b, a}, Weights: valued(1, 2, 3)}, fault.Invalid, "PIECE_TWICE", "items[2].piece"},
		"Missing":     {intake.Revision{Split: intake.ByHand, Pieces: []id.ID{b}, Weights: shared(18_000)}, fault.Invalid, "PIECE_MISSING", "items"},
		"NoneNamed":   {intake.Revision{Split: intake.ByHand}, fault.Invalid, "SHARES_DO_NOT_ADD_UP", "items"},
		"NoWeight":    {intake.Revision{Split: intake.ByValue, Pieces: []id.ID{a, b}, Weights: []intake.Weight{valued(1)[0], {}}}, fault.Invalid, "WEIGHT_MISSING", "items[1].weight"},
		"OffByACent":  {intake.Revision{Split: intake.ByHand, Pieces: []id.ID{a, b}, Weights: shared(9_000, 8_999)}, fault.Invalid, "SHARES_DO_NOT_ADD_UP", "items"},
		"TooEarly":    {intake.Revision{Split: intake.Equally, At: monday.Add(-time.Minute)}, fault.Invalid, "TIME_BEFORE_INTAKE", "revise_time"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			if c.r.At.IsZero() {
				c.r.At = monday
			}
			before := l.Now()
			refused(t, l.Revise(c.r, usd), c.kind, c.reason, c.field)
			if diff := cmp.Diff(before, l.Now()); diff != "" || l.Version() != 1 {
				t.Errorf("refused, but changed (-before +after):\n%s", diff)
			}
		})
	}
	same := intake.Revision{Split: intake.ByValue, Pieces: []id.ID{b, a}, Weights: valued(25_000, 6_000), At: monday}
	if err := l.Revise(same, usd); !fault.Is(err, "SPLIT_UNCHANGED") || l.Version() != 1 {
		t.Errorf("the same split again = %v, want SPLIT_UNCHANGED", err)
	}
}

// Another price is split as the one before, also one that was split by hand.
func TestLot_CorrectPrice(t *testing.T) {
	l := bought(t, intake.Offer{Price: 18_000, Split: intake.ByHand, Weights: shared(6_000, 12_000)})
	from, err := l.CorrectPrice(21_000, "the auctioneer's premium", monday)
	if err != nil || from != 18_000 || l.Version() != 2 || l.Now().Split != intake.ByHand || l.Now().Reason == "" {
		t.Fatalf("CorrectPrice = %d, %v, left %+v", from, err, l.Now())
	}
	if diff := cmp.Diff([]money.Amount{7_000, 14_000}, shares(l)); diff != "" {
		t.Errorf("shares (-want +got):\n%s", diff)
	}
	if _, err := l.CorrectPrice(21_000, "again", monday); !fault.Is(err, "PRICE_UNCHANGED") || l.Version() != 2 {
		t.Errorf("the same price again = %v, want PRICE_UNCHANGED", err)
	}
	_, err = l.CorrectPrice(1, "long ago", monday.AddDate(0, 0, -1))
	refused(t, err, fault.Invalid, "TIME_BEFORE_INTAKE", "correct_time")
}

func TestPiece_CorrectPurchase(t *testing.T) {
	own := takenIn(t)
	own.Purchase = &intake.Purchase{Price: 4_500}
	before := own.Purchase
	if from, err := own.CorrectPurchase(4_200, monday); err != nil || from != 4_500 || own.Purchase.Price != 4_200 || own.Version != 2 || before.Price != 4_500 {
		t.Errorf("CorrectPurchase = %d, %v, left %+v", from, err, own)
	}
	for name, c := range map[string]struct {
		purchase *intake.Purchase
		at       time.Time
		reason   string
	}{
		"Commission": {nil, monday, "PIECE_IS_COMMISSION"},
		"OfALot":     {&intake.Purchase{Price: 1, Lot: id.New()}, monday, "PIECE_OF_LOT"},
		"Unchanged":  {&intake.Purchase{Price: 4_200}, monday, "PRICE_UNCHANGED"},
		"TooEarly":   {&intake.Purchase{Price: 1}, monday.Add(-time.Minute), "TIME_BEFORE_INTAKE"},
	} {
		t.Run(name, func(t *testing.T) {
			p := takenIn(t)
			p.Purchase = c.purchase
			if _, err := p.CorrectPurchase(4_200, c.at); !fault.Is(err, c.reason) || p.Version != 1 {
				t.Errorf("CorrectPurchase = %v, left %+v, want %s", err, p, c.reason)
			}
		})
	}
}

// Whatever is said of a lot, and in whatever turn, its shares add up to its price, and nothing that was
// said before is changed.
func TestLot_AlwaysAddsUp(t *testing.T) {
	amount := rapid.Map(rapid.Int64Range(0, 1_000_000), func(n int64) money.Amount { return money.Amount(n) })
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(2, 8).Draw(rt, "pieces")
		values := rapid.SliceOfN(amount, n, n)
		l, _, err := buy(intake.Offer{Price: amount.Draw(rt, "price"), Split: intake.ByValue, Weights: valued(append(values.Draw(rt, "values")[:n-1], 1)...)})
		if err != nil {
			rt.Fatal(err)
		}
		for range rapid.IntRange(0, 5).Draw(rt, "changes") {
			before := slices.Clone(l.Terms)
			if rapid.Bool().Draw(rt, "price") {
				_, err = l.CorrectPrice(amount.Draw(rt, "price"), "misread", monday)
			} else {
				err = l.Revise(intake.Revision{Split: intake.ByValue, Pieces: pieces(l), Weights: valued(append(values.Draw(rt, "values")[:n-1], 1)...), At: monday}, usd)
			}
			if err != nil && !fault.Is(err, "PRICE_UNCHANGED") && !fault.Is(err, "SPLIT_UNCHANGED") {
				rt.Fatal(err)
			}
			if diff := cmp.Diff(before, l.Terms[:len(before)]); diff != "" {
				rt.Fatalf("what was said before changed (-before +after):\n%s", diff)
			}
		}
		for _, terms := range l.Terms {
			var sum money.Amount
			for _, s := range terms.Shares {
				sum += s.Amount
			}
			if sum != terms.Price {
				rt.Fatalf("shares %v add up to %d, not to %d", terms.Shares, sum, terms.Price)
			}
		}
	})
}
