package sales_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	"tackfree/services/sales/internal/sales"
)

// offered is a piece that is listed at a price, at none if it is zero.
func offered(t *testing.T, tag int32, price money.Amount, channel string) sales.Member {
	t.Helper()
	p := sales.Piece{ID: id.New(), Tag: tag}
	l := sales.New(p)
	if price > 0 {
		must(t, l.List(p, noon, wire.NameKey, channel, price))
	}
	return sales.Member{Piece: p, Listing: &l}
}

func counting(m sales.Member, weight money.Amount) sales.Member {
	m.Weight = &weight
	return m
}

func set(price, tax, fee money.Amount) sales.Set {
	return sales.Set{ID: id.New(), Buyer: "Ana", Amounts: sales.Amounts{Price: price, Tax: tax, Fee: fee}, SoldAt: noon}
}

// The parts of a set add up to it to the cent: 420.00, 33.60 and 42.01 over what is asked, worked by
// hand; the published rows of largest remainders are pkg/apportion's.
func TestSellSet_Splits(t *testing.T) {
	table, chair, stool := offered(t, 12, 30_000, "market stall"), offered(t, 13, 10_000, "market stall"), offered(t, 14, 10_000, "market stall")
	s, err := sales.SellSet(set(42_000, 3_360, 4_201), []sales.Member{table, chair, stool}, wire.NameKey)
	must(t, err)
	want := []sales.Amounts{{Price: 25_200, Tax: 2_016, Fee: 2_521}, {Price: 8_400, Tax: 672, Fee: 840}, {Price: 8_400, Tax: 672, Fee: 840}}
	for i, m := range []sales.Member{table, chair, stool} {
		sale := s.Parts[i].Sale
		if diff := cmp.Diff(want[i], sale.Amounts); diff != "" || s.Parts[i].Tag != m.Piece.Tag || s.Parts[i].Piece != m.Piece.ID {
			t.Errorf("part %d is of piece %d (-want +got):\n%s", i, s.Parts[i].Tag, diff)
		}
		if sale.Channel != "market stall" || sale.Buyer != "Ana" || sale.SoldAt != noon || sale.Of != (sales.SetShare{Set: s.ID, Place: int32(i + 1), Weight: m.Listing.AskingPrice}) {
			t.Errorf("sale of piece %d = %+v", m.Piece.Tag, sale)
		}
		if l := m.Listing; l.State != sales.Sold || l.Version != 2 || len(l.Sales) != 1 || !cmp.Equal(l.Sales[0], sale) {
			t.Errorf("listing of piece %d = %+v", m.Piece.Tag, l)
		}
	}
	if s.Channel != "market stall" || s.Parts[0].Sale.ID == s.Parts[1].Sale.ID {
		t.Errorf("the set is %+v", s)
	}
}

// Of what nothing is asked for a weight is said, and one that is said counts for more than what is asked.
func TestSellSet_Weights(t *testing.T) {
	s, err := sales.SellSet(set(10_000, 0, 0), []sales.Member{counting(offered(t, 1, 0, ""), 20_000), offered(t, 2, 20_000, "auction"), counting(offered(t, 3, 500, "auction"), 10_000)}, wire.NameKey)
	must(t, err)
	for i, want := range []money.Amount{4_000, 4_000, 2_000} {
		if got := s.Parts[i].Sale.Price; got != want {
			t.Errorf("share of piece %d = %d, want %d", i+1, got, want)
		}
	}
}

func TestSellSet_Channel(t *testing.T) {
	cases := map[string]struct {
		given    string
		listedOn []string // empty: not listed
		want     string
	}{
		"Given":          {"auction", []string{"market stall", "shop floor"}, "auction"},
		"TheirsAll":      {"", []string{"market stall", "market stall"}, "market stall"},
		"TheirsOfSome":   {"", []string{"", "market stall"}, "market stall"},
		"Direct":         {"", []string{"", ""}, sales.Direct},
		"OtherLetters":   {"", []string{"Web", "", " web"}, "Web"},
		"WiderFolding":   {"", []string{"Große Straße", "GROSSE STRASSE"}, "Große Straße"},
		"SeveralRefused": {"", []string{"market stall", "", "shop floor"}, ""},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			var members []sales.Member
			for i, channel := range c.listedOn {
				price := money.Amount(0)
				if channel != "" {
					price = 100
				}
				members = append(members, counting(offered(t, int32(i+1), price, channel), 100))
			}
			offer := set(1_000, 0, 0)
			offer.Channel = c.given
			s, err := sales.SellSet(offer, members, wire.NameKey)
			if c.want == "" {
				if !fault.Is(err, "SET_ON_SEVERAL_CHANNELS") {
					t.Errorf("SellSet = %v, want SET_ON_SEVERAL_CHANNELS", err)
				}
				return
			}
			must(t, err)
			for _, p := range s.Parts {
				if p.Sale.Channel != c.want {
					t.Errorf("sold on %q, want %q", p.Sale.Channel, c.want)
				}
			}
		})
	}
}

func TestSellSet_Refuses(t *testing.T) {
	soldOne, scrappedOne, late := offered(t, 2, 100, "auction"), offered(t, 2, 100, "auction"), offered(t, 2, 100, "auction")
	_, err := soldOne.Listing.Sell(soldOne.Piece, sales.Sale{Amounts: sales.Amounts{Price: 1}})
	must(t, err)
	scrappedOne.Piece.Scrapped = true
	late.Piece.TakenInAt = noon.Add(time.Minute)
	good := offered(t, 2, 100, "auction")
	cases := map[string]struct {
		set    sales.Set
		other  sales.Member
		kind   fault.Kind
		reason string
	}{
		"PriceZero":      {set(0, 0, 0), good, fault.Invalid, "PRICE_ZERO"},
		"FeeAbovePrice":  {set(100, 0, 101), good, fault.Invalid, "FEE_ABOVE_PRICE"},
		"TaxAbovePrice":  {set(100, 101, 0), good, fault.Invalid, "TAX_ABOVE_PRICE"},
		"Sold":           {set(100, 0, 0), soldOne, fault.Precondition, "PIECE_SOLD"},
		"Scrapped":       {set(100, 0, 0), scrappedOne, fault.Precondition, "PIECE_SCRAPPED"},
		"NotYetIn":       {set(100, 0, 0), late, fault.Invalid, "TIME_BEFORE_INTAKE"},
		"NoAskingPrice":  {set(100, 0, 0), offered(t, 2, 0, ""), fault.Precondition, "NO_ASKING_PRICE"},
		"WeightZero":     {set(100, 0, 0), counting(good, 0), fault.Invalid, "WEIGHT_ZERO"},
		"NothingForIt":   {set(100, 0, 0), counting(good, 1), fault.Invalid, "SHARE_ZERO"},
		"OtherChannel":   {set(100, 0, 0), offered(t, 2, 100, "shop floor"), fault.Precondition, "SET_ON_SEVERAL_CHANNELS"},
		"OneCentForBoth": {set(1, 0, 0), good, fault.Invalid, "SHARE_ZERO"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			first := offered(t, 1, 1_000, "auction")
			before := []sales.Listing{*first.Listing, *c.other.Listing}
			_, err := sales.SellSet(c.set, []sales.Member{first, c.other}, wire.NameKey)
			if f := fault.Of(err); f == nil || f.Kind != c.kind || f.Reason != c.reason {
				t.Errorf("SellSet = %v, want %s", err, c.reason)
			}
			if diff := cmp.Diff(before, []sales.Listing{*first.Listing, *c.other.Listing}); diff != "" {
				t.Errorf("refused, but changed (-before +after):\n%s", diff)
			}
		})
	}
}

// All pieces that nobody knows a price of are named at once.
func TestSellSet_NamesThoseWithoutAPrice(t *testing.T) {
	_, err := sales.SellSet(set(100, 0, 0), []sales.Member{offered(t, 12, 0, ""), offered(t, 13, 100, "auction"), offered(t, 14, 0, "")}, wire.NameKey)
	want := "Nothing is asked for piece 12, 14, so nobody knows what it is of the set; list it at a price, or say a weight for it."
	if f := fault.Of(err); f == nil || f.Text != want || f.Meta["tags"] != "12,14" {
		t.Errorf("SellSet = %v, want %q", err, want)
	}
}

// Whatever is asked for the pieces, their shares add up to what was paid for all.
func TestSellSet_AlwaysAddsUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		price := rapid.Int64Range(100, 5_000_000).Draw(rt, "price")
		whole := set(money.Amount(price), money.Amount(rapid.Int64Range(0, price/5).Draw(rt, "tax")), money.Amount(rapid.Int64Range(0, price/5).Draw(rt, "fee")))
		var members []sales.Member
		for i := range rapid.IntRange(2, 9).Draw(rt, "pieces") {
			members = append(members, counting(offered(t, int32(i+1), 0, ""), money.Amount(rapid.Int64Range(1, 1_000_000).Draw(rt, "weight"))))
		}
		s, err := sales.SellSet(whole, members, wire.NameKey)
		if fault.Is(err, "SHARE_ZERO") || fault.Is(err, "FEE_ABOVE_PRICE") || fault.Is(err, "TAX_ABOVE_PRICE") {
			return // a share of a few cents
		}
		if err != nil {
			rt.Fatal(err)
		}
		var sum sales.Amounts
		for _, p := range s.Parts {
			sum.Price, sum.Tax, sum.Fee = sum.Price+p.Sale.Price, sum.Tax+p.Sale.Tax, sum.Fee+p.Sale.Fee
		}
		if sum != whole.Amounts {
			rt.Fatalf("the shares add up to %+v, want %+v", sum, whole.Amounts)
		}
	})
}
