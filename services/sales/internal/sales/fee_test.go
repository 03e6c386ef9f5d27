package sales_test

import (
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
)

func percent(text string) decimal.Decimal { return decimal.RequireFromString(text) }

// brackets are the tiers of the United States' income tax of 2024 for unmarried individuals, and what it comes to at the foot of each:
// Revenue Procedure 2023-34, section 3.01, table 3, as remembered; its own sums follow from its rates.
func brackets() (sales.Fees, map[money.Amount]money.Amount) {
	f := sales.Fees{Percent: percent("10")}
	for _, t := range []struct {
		from money.Amount
		rate string
	}{{1160000, "12"}, {4715000, "22"}, {10052500, "24"}, {19195000, "32"}, {24372500, "35"}, {60935000, "37"}} {
		f.Tiers = append(f.Tiers, sales.Tier{From: t.from, Percent: percent(t.rate)})
	}
	return f, map[money.Amount]money.Amount{
		1160000: 116000, 4715000: 542600, 10052500: 1716850, 19195000: 3911050, 24372500: 5567850, 60935000: 18364725}
}

func TestFees_MarginalTiers_AsPublishedBrackets(t *testing.T) {
	f, published := brackets()
	for income, tax := range published {
		if got := f.Of(income, 0); got != tax {
			t.Errorf("Of(%d) = %d, want %d", income, got, tax)
		}
	}
}

// Reckoned by hand.
func TestFees_Of(t *testing.T) {
	most := money.Amount(2000)
	tiers := []sales.Tier{{From: 10000, Percent: percent("5")}, {From: 50000, Percent: percent("2")}}
	cases := map[string]struct {
		fees       sales.Fees
		price, tax money.Amount
		want       money.Amount
	}{
		"Nothing":               {sales.Fees{}, 19999, 0, 0},
		"Percent":               {sales.Fees{Percent: percent("6.5")}, 20000, 0, 1300},
		"PercentAndFixed":       {sales.Fees{Percent: percent("6.5"), Fixed: 30}, 20000, 0, 1330},
		"HalfAwayFromZero":      {sales.Fees{Percent: percent("12.5")}, 100, 0, 13}, // 12.5; to even it were 12
		"JustBelowHalf":         {sales.Fees{Percent: percent("12.4")}, 100, 0, 12},
		"ThirdOfACent":          {sales.Fees{Percent: percent("0.3333333333")}, 100, 0, 0},
		"RoundedOnce":           {sales.Fees{Percent: percent("1"), Tiers: []sales.Tier{{From: 50, Percent: percent("1")}}}, 100, 0, 1}, // 0.5 and 0.5, not 1 and 1
		"Marginal":              {sales.Fees{Percent: percent("10"), Tiers: tiers}, 60000, 0, 1000 + 2000 + 200},
		"MarginalBelowFirst":    {sales.Fees{Percent: percent("10"), Tiers: tiers}, 9999, 0, 1000},
		"WholePrice":            {sales.Fees{Percent: percent("10"), Tiers: tiers, WholePrice: true}, 60000, 0, 1200},
		"WholePriceAtItsFoot":   {sales.Fees{Percent: percent("10"), Tiers: tiers, WholePrice: true}, 10000, 0, 500},
		"WholePriceJustBelow":   {sales.Fees{Percent: percent("10"), Tiers: tiers, WholePrice: true}, 9990, 0, 999},
		"Minimum":               {sales.Fees{Percent: percent("5"), Minimum: 500}, 2000, 0, 500},
		"MinimumCountsFixedIn":  {sales.Fees{Percent: percent("5"), Fixed: 450, Minimum: 500}, 2000, 0, 550},
		"Most":                  {sales.Fees{Percent: percent("10"), Fixed: 100, Most: &most}, 50000, 0, 2000},
		"WithoutTax":            {sales.Fees{Percent: percent("10")}, 20000, 1600, 2000},
		"WithTax":               {sales.Fees{Percent: percent("10"), WithTax: true}, 20000, 1600, 2160},
		"WithTaxReachesTheTier": {sales.Fees{Percent: percent("10"), Tiers: tiers, WholePrice: true, WithTax: true}, 9500, 500, 500},
	}
	for name, c := range cases {
		if got := c.fees.Of(c.price, c.tax); got != c.want {
			t.Errorf("%s: Of(%d, %d) = %d, want %d", name, c.price, c.tax, got, c.want)
		}
	}
}

// Marginal tiers never make a higher price leave less; one percentage in all tiers is that percentage.
func TestFees_MarginalTiers_NeverPunishAHigherPrice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := sales.Fees{Percent: decimal.New(rapid.Int64Range(0, 10000).Draw(t, "percent"), -2)}
		from := money.Amount(0)
		for range rapid.IntRange(0, 4).Draw(t, "tiers") {
			from += money.Amount(rapid.Int64Range(1, 50000).Draw(t, "width"))
			f.Tiers = append(f.Tiers, sales.Tier{From: from, Percent: decimal.New(rapid.Int64Range(0, 10000).Draw(t, "percent of tier"), -2)})
		}
		low := money.Amount(rapid.Int64Range(0, 200000).Draw(t, "price"))
		high := low + money.Amount(rapid.Int64Range(0, 50000).Draw(t, "more"))
		if left, more := low-f.Of(low, 0), high-f.Of(high, 0); more < left-1 {
			t.Fatalf("of %d is left %d, of %d only %d", low, left, high, more)
		}
		for i := range f.Tiers {
			f.Tiers[i].Percent = f.Percent
		}
		if one, whole := f.Of(high, 0), (sales.Fees{Percent: f.Percent}).Of(high, 0); one != whole {
			t.Fatalf("one percentage in all tiers keeps %d of %d, by itself %d", one, high, whole)
		}
	})
}

func TestChannel_SetRefuses(t *testing.T) {
	most := money.Amount(100)
	for name, c := range map[string]struct {
		said   sales.Channel
		reason string
	}{
		"NoWebAddress":  {sales.Channel{WebAddress: "market"}, "WEB_ADDRESS_MALFORMED"},
		"Negative":      {sales.Channel{Fees: &sales.Fees{Percent: percent("-1")}}, "FEE_PERCENT_OUT_OF_RANGE"},
		"AboveHundred":  {sales.Channel{Fees: &sales.Fees{Percent: percent("100.01")}}, "FEE_PERCENT_OUT_OF_RANGE"},
		"TierTooMuch":   {sales.Channel{Fees: &sales.Fees{Tiers: []sales.Tier{{From: 1, Percent: percent("101")}}}}, "FEE_PERCENT_OUT_OF_RANGE"},
		"TierAtZero":    {sales.Channel{Fees: &sales.Fees{Tiers: []sales.Tier{{Percent: percent("5")}}}}, "TIERS_OUT_OF_ORDER"},
		"TiersBackward": {sales.Channel{Fees: &sales.Fees{Tiers: []sales.Tier{{From: 2}, {From: 1}}}}, "TIERS_OUT_OF_ORDER"},
		"TiersAlike":    {sales.Channel{Fees: &sales.Fees{Tiers: []sales.Tier{{From: 2}, {From: 2}}}}, "TIERS_OUT_OF_ORDER"},
		"UpsideDown":    {sales.Channel{Fees: &sales.Fees{Minimum: 101, Most: &most}}, "FEE_MINIMUM_ABOVE_MOST"},
	} {
		channel := sales.Channel{Name: "Fair", Version: 3}
		if err := channel.Set(c.said); !fault.Is(err, c.reason) || channel.Version != 3 || channel.Name != "Fair" {
			t.Errorf("%s: Set = %v, want %s and nothing changed", name, err, c.reason)
		}
	}
}

func TestChannel_TakeFee(t *testing.T) {
	fair := sales.Channel{Name: "Fair", Fees: &sales.Fees{Percent: percent("10"), Minimum: 500}}
	a := sales.Amounts{Price: 10000}
	if took, err := fair.TakeFee(&a); err != nil || !took || a.Fee != 1000 {
		t.Errorf("TakeFee of 100.00 = %v, %v with fee %d, want 10.00", took, err, a.Fee)
	}
	low := sales.Amounts{Price: 499}
	if _, err := fair.TakeFee(&low); !fault.Is(err, "FEE_ABOVE_PRICE") {
		t.Errorf("TakeFee of 4.99 = %v, want FEE_ABOVE_PRICE", err)
	}
	exactly := sales.Amounts{Price: 500}
	if _, err := fair.TakeFee(&exactly); err != nil || exactly.Fee != 500 {
		t.Errorf("TakeFee of 5.00 = %v with fee %d, want all of it", err, exactly.Fee)
	}
	if took, err := (sales.Channel{}).TakeFee(&sales.Amounts{Price: 1}); took || err != nil {
		t.Errorf("a channel of which nobody said the fees takes one: %v, %v", took, err)
	}
}
