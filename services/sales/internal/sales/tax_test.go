package sales_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
)

func rate(percent string, day int) sales.TaxRate {
	return sales.TaxRate{From: march(day), Percent: decimal.RequireFromString(percent)}
}

// The first is the federal government's worked example of 2012 (budget.canada.ca, "Rounding", text version): 1.83 and 2.86 are 4.92
// with the 5 percent tax. The second is that of CTV News, "Phasing out penny causes consumer confusion" (2013): 82.79 on 689.93 at
// 12 percent. The others are by hand: 250 × 9 % = 22.5, 10 × 4.9999 % = 0.49999, 12345678 × 8.1875 % = 1010802.38625.
func TestTaxRate_Of(t *testing.T) {
	for _, c := range []struct {
		taxable money.Amount
		percent string
		want    money.Amount
	}{{1_83 + 2_86, "5", 4_92 - 1_83 - 2_86}, {689_93, "12", 82_79}, {2_50, "9", 23}, {10, "4.9999", 0}, {123_456_78, "8.1875", 10_108_02}, {100, "100", 100}, {100, "0", 0}} {
		if got := rate(c.percent, 1).Of(c.taxable); got != c.want {
			t.Errorf("%s%% of %d = %d, want %d", c.percent, c.taxable, got, c.want)
		}
	}
}

// A rate holds from its day until the next one; of the same day the one that is said last; before the first there is none.
func TestTaxPlace_RateOn(t *testing.T) {
	p := sales.TaxPlace{}
	for _, r := range []sales.TaxRate{rate("8.25", 10), rate("8", 2), rate("9", 20), rate("8.5", 10)} {
		must(t, p.State("Springfield", r, false, nil))
	}
	for day, want := range map[int]string{2: "8", 9: "8", 10: "8.5", 19: "8.5", 20: "9", 31: "9"} {
		if got, err := p.RateOn(march(day)); err != nil || got.Percent.String() != want {
			t.Errorf("on the %dth it takes %v, %v, want %s", day, got.Percent, err, want)
		}
	}
	if _, err := p.RateOn(march(1)); !fault.Is(err, "TAX_RATE_NOT_STATED") {
		t.Errorf("before the first rate = %v", err)
	}
	must(t, p.Retire(nil))
	if _, err := p.RateOn(march(9)); !fault.Is(err, "TAX_PLACE_RETIRED") || !fault.Is(p.Retire(nil), "TAX_PLACE_RETIRED") {
		t.Errorf("of a retired place = %v", err)
	}
	must(t, p.State("Springfield", rate("8", 2), true, nil))
	if _, err := p.RateOn(march(2)); err != nil || !p.Default || p.Version != 6 {
		t.Errorf("taken up again it is %+v, %v", p, err)
	}
}

func TestTaxPlace_State_Refuses(t *testing.T) {
	for _, percent := range []string{"-0.0001", "100.0001", "825"} {
		p := sales.TaxPlace{}
		if err := p.State("Springfield", rate(percent, 1), false, nil); !fault.Is(err, "TAX_PERCENT_OUT_OF_RANGE") || len(p.Rates) != 0 {
			t.Errorf("State(%s) = %v, %+v", percent, err, p)
		}
	}
}

// How a sale of 100.00 is taxed, whatever is asked for.
func TestAmounts_Reckon(t *testing.T) {
	p := sales.TaxPlace{}
	must(t, p.State("Springfield", rate("8.25", 2), true, nil))
	eight := decimal.RequireFromString("8.25")
	for name, c := range map[string]struct {
		terms  sales.TaxTerms
		place  *sales.TaxPlace
		tax    money.Amount
		want   sales.Taxed
		reason string
	}{
		"AtThePlace":    {terms: sales.TaxTerms{}, place: &p, tax: 8_25, want: sales.Taxed{Place: "Springfield", Percent: eight, Taxable: 100_00}},
		"Exempt":        {terms: sales.TaxTerms{Exempt: true, Reason: "resale 12"}, place: &p, want: sales.Taxed{Place: "Springfield", Percent: eight, Exempt: true, ExemptReason: "resale 12"}},
		"NowhereExempt": {terms: sales.TaxTerms{Exempt: true, Reason: "resale 12"}, want: sales.Taxed{Exempt: true, ExemptReason: "resale 12"}},
		"Nowhere":       {},
		"Said":          {terms: sales.TaxTerms{Said: true}, place: &p},
		"SaidAndPlace":  {terms: sales.TaxTerms{Said: true, Place: "Springfield"}, place: &p, reason: "TAX_SAID_TWICE"},
		"SaidAndExempt": {terms: sales.TaxTerms{Said: true, Exempt: true, Reason: "x"}, place: &p, reason: "TAX_SAID_TWICE"},
		"NoReason":      {terms: sales.TaxTerms{Exempt: true}, place: &p, reason: "EXEMPT_REASON_MISSING"},
		"ReasonAlone":   {terms: sales.TaxTerms{Reason: "resale 12"}, place: &p, reason: "EXEMPT_REASON_ALONE"},
	} {
		t.Run(name, func(t *testing.T) {
			a := sales.Amounts{Price: 100_00}
			got, err := a.Reckon(c.terms, c.place, march(2))
			if c.reason != "" {
				if !fault.Is(err, c.reason) || a.Tax != 0 {
					t.Errorf("Reckon = %v, tax %d", err, a.Tax)
				}
				return
			}
			if diff := cmp.Diff(c.want, got); err != nil || diff != "" || a.Tax != c.tax {
				t.Errorf("Reckon = %v, tax %d, want %d (-want +got):\n%s", err, a.Tax, c.tax, diff)
			}
		})
	}
}

// The shares of a set are taxed as the whole: once rounded, and together no cent more or less.
func TestSellSet_Taxed(t *testing.T) {
	s := set(1_00, 0, 0)
	p := sales.TaxPlace{}
	must(t, p.State("Springfield", rate("8.25", 2), true, nil))
	var err error
	s.Taxed, err = s.Reckon(sales.TaxTerms{}, &p, march(2))
	must(t, err)
	s, err = sales.SellSet(s, []sales.Member{offered(t, 1, 10, "fair"), offered(t, 2, 10, "fair"), offered(t, 3, 10, "fair")}, func(s string) string { return s })
	must(t, err)
	var tax, taxable money.Amount
	for _, part := range s.Parts {
		tax, taxable = tax+part.Sale.Tax, taxable+part.Sale.Taxable
		if part.Sale.Place != "Springfield" || part.Sale.Taxable != part.Sale.Price {
			t.Errorf("a share is taxed %+v", part.Sale.Taxed)
		}
	}
	if tax != 8 || taxable != 1_00 {
		t.Errorf("the shares of tax come to %d on %d", tax, taxable)
	}
}

// The only place in use is the default one; the default one is not retired while others are in use, and the last one may be.
func TestTaxPlace_Default(t *testing.T) {
	here, there := sales.TaxPlace{ID: id.New()}, sales.TaxPlace{ID: id.New()}
	must(t, here.State("Springfield", rate("8", 2), false, nil))
	must(t, there.State("Shelbyville", rate("7", 2), false, []sales.TaxPlace{here}))
	if !here.Default || there.Default {
		t.Errorf("the first is the default: %t, the second: %t", here.Default, there.Default)
	}
	if err := here.Retire([]sales.TaxPlace{here, there}); !fault.Is(err, "TAX_PLACE_IS_DEFAULT") || here.Retired || here.Version != 1 {
		t.Errorf("Retire = %v, %+v", err, here)
	}
	must(t, there.Retire([]sales.TaxPlace{here, there}))
	must(t, here.Retire([]sales.TaxPlace{here}))
	must(t, there.State("Shelbyville", rate("7", 2), false, nil))
	if here.Default || !there.Default {
		t.Errorf("taken up again alone it is %+v", there)
	}
}

// Where what says no place is taxed.
func TestPlaceOf(t *testing.T) {
	here := sales.TaxPlace{ID: id.New(), Default: true, Rates: []sales.TaxRate{rate("8", 10)}}
	other := sales.TaxPlace{ID: id.New(), Rates: []sales.TaxRate{rate("7", 5)}}
	for name, c := range map[string]struct {
		inUse  []sales.TaxPlace
		day    int
		exempt bool
		want   id.ID
		reason string
	}{
		"AtTheDefault": {[]sales.TaxPlace{other, here}, 10, false, here.ID, ""}, "NoPlace": {nil, 10, false, id.Nil, ""},
		"BeforeTheOnlyOne": {[]sales.TaxPlace{here}, 9, false, id.Nil, ""}, "BeforeTheDefault": {[]sales.TaxPlace{other, here}, 9, false, here.ID, ""},
		"BeforeAll": {[]sales.TaxPlace{other, here}, 4, false, id.Nil, ""}, "NoDefault": {[]sales.TaxPlace{other}, 5, false, id.Nil, "TAX_PLACE_UNSAID"},
		"NoDefaultExempt": {[]sales.TaxPlace{other}, 5, true, id.Nil, ""},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := sales.PlaceOf(c.inUse, march(c.day), c.exempt)
			if c.reason != "" || err != nil {
				if c.reason == "" || !fault.Is(err, c.reason) {
					t.Errorf("PlaceOf = %v, want %q", err, c.reason)
				}
				return
			}
			if (got == nil) != (c.want == id.Nil) || got != nil && got.ID != c.want {
				t.Errorf("PlaceOf = %+v, want %v", got, c.want)
			}
		})
	}
}

// Three refunds of a third of 100.00 at 8.25 %, by hand: the tax left is 5.50, 2.75 (of 33.34: 2.75055) and 0.
func TestListing_TaxBack(t *testing.T) {
	sold := func(taxed sales.Taxed) (*sales.Listing, sales.Refund) {
		l := sales.New(piece)
		s, err := l.Sell(piece, sales.Sale{ID: id.New(), Amounts: sales.Amounts{Price: 100_00, Tax: 8_25}, Taxed: taxed, SoldAt: noon})
		must(t, err)
		return &l, sales.Refund{Sale: s.ID, RefundedAt: noon, Amounts: sales.Amounts{Price: 33_33}}
	}
	l, r := sold(sales.Taxed{Place: "Springfield", Percent: decimal.RequireFromString("8.25"), Taxable: 100_00})
	for n, want := range []money.Amount{2_75, 2_75, 2_75} {
		r.ID, r.Price = id.New(), []money.Amount{33_33, 33_33, 33_34}[n]
		if r.Tax = l.TaxBack(r); r.Tax != want {
			t.Errorf("refund %d gives back a tax of %d, want %d", n, r.Tax, want)
		}
		_, err := l.Refund(r, usd)
		must(t, err)
	}
	if left := l.Sales[0].Left(); left.Price != 0 || left.Tax != 0 {
		t.Errorf("%+v is left", left)
	}
	l, r = sold(sales.Taxed{})
	if got := l.TaxBack(r); got != 0 {
		t.Errorf("of a tax that was said %d goes back", got)
	}
}

// Whatever parts of a price go back, the tax goes back with the last of them, and no part takes less than nothing.
func TestListing_TaxBack_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := sales.New(piece)
		price := money.Amount(rapid.Int64Range(1, 1_000).Draw(t, "price"))
		tax := money.Amount(rapid.Int64Range(0, int64(price)).Draw(t, "tax"))
		s, err := l.Sell(piece, sales.Sale{ID: id.New(), Amounts: sales.Amounts{Price: price, Tax: tax}, Taxed: sales.Taxed{Place: "x"}, SoldAt: noon})
		if err != nil {
			t.Fatal(err)
		}
		for left := price; left > 0; {
			part := money.Amount(rapid.Int64Range(1, int64(left)).Draw(t, "part"))
			r := sales.Refund{ID: id.New(), Sale: s.ID, RefundedAt: noon, Amounts: sales.Amounts{Price: part}}
			if r.Tax = l.TaxBack(r); r.Tax < 0 {
				t.Fatalf("%d goes back", r.Tax)
			}
			if _, err := l.Refund(r, usd); err != nil {
				t.Fatal(err)
			}
			left -= part
		}
		if left := l.Sales[0].Left(); left.Tax != 0 {
			t.Fatalf("a tax of %d is left", left.Tax)
		}
	})
}
