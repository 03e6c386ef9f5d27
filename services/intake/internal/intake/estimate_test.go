package intake_test

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/services/intake/internal/intake"
)

var today = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func ptr[T any](v T) *T { return &v }

func labour(low, likely, high string, rate money.Amount) intake.EstimateLine {
	return intake.EstimateLine{Kind: intake.LabourLine, What: "strip and refinish", Hours: intake.Hours{Low: dec(low), Likely: dec(likely), High: dec(high)}, Rate: &rate}
}

func material(cost money.Amount, markup string) intake.EstimateLine {
	return intake.EstimateLine{Kind: intake.MaterialLine, What: "varnish", Cost: cost, Markup: ptr(dec(markup))}
}

func fixed(price money.Amount, untaxed bool) intake.EstimateLine {
	return intake.EstimateLine{Kind: intake.FixedLine, What: "fetch and bring back", Fixed: price, Untaxed: untaxed}
}

// house are the terms that a shop says.
func house() intake.CommissionTerms {
	return intake.CommissionTerms{}.Say(intake.CommissionTerms{Rate: 65_00, Markup: dec("35"), Tax: dec("8.875"), Deposit: dec("50"), Rule: intake.OwesWork})
}

func writing() intake.Writing {
	return intake.Writing{At: today.Add(15 * time.Hour), Day: today, Actor: "Rosa"}
}

// begun is a commission of a client without an exemption.
func begun(t testing.TB, d intake.EstimateDraft, terms intake.CommissionTerms) intake.Commission {
	t.Helper()
	c, err := intake.Begin(intake.AddClient(intake.ClientDetails{Name: "Ana Ruiz"}, today), nil, "refinish a table", d, terms, writing())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Worked by hand: 6.5 h and 1.25 h at 65.00, 43.37 of material with 35 % (15.1795) on it, 40.00 that are not taxed,
// 10 % off, 8.875 % tax, half of it before work begins.
//
//	422.50 + 81.25 + 58.55 + 40.00 = 602.30; less 60.23, of which 56.23 on the taxed 562.30
//	506.07 × 8.875 % = 44.9137…; 602.30 − 60.23 + 44.91 = 586.98; half of it 293.49
func TestEstimate_WorkedByHand(t *testing.T) {
	d := intake.EstimateDraft{Lines: []intake.EstimateLine{labour("5", "6.5", "9", 65_00), labour("1.25", "1.25", "1.25", 65_00), material(43_37, "35"), fixed(40_00, true)},
		Discount: intake.AmountOrPercent{Percent: ptr(dec("10"))}}
	e := begun(t, d, house()).Last()
	if want := (intake.EstimateTotals{Subtotal: 602_30, Discount: 60_23, Taxable: 506_07, Tax: 44_91, Total: 586_98}); e.Totals != want || e.Deposit != 293_49 {
		t.Errorf("totals = %+v, deposit %d, want %+v, 29349", e.Totals, e.Deposit, want)
	}
	// With 5 h: 504.80 less 50.48, of which 46.48 on the taxed 464.80; 418.32 × 8.875 % = 37.1259; 491.45.
	if want := (intake.EstimateTotals{Subtotal: 504_80, Discount: 50_48, Taxable: 418_32, Tax: 37_13, Total: 491_45}); e.Low != want {
		t.Errorf("with the fewest hours %+v, want %+v", e.Low, want)
	}
	if e.High.Subtotal != 602_30+2*65_00+32_50 {
		t.Errorf("with the most hours %+v", e.High)
	}
	if want := today.AddDate(0, 0, 30); !e.Draft.ValidUntil.Equal(want) || e.Number != 1 || e.Actor != "Rosa" {
		t.Errorf("valid until %v, version %d by %q, want %v, 1, Rosa", e.Draft.ValidUntil, e.Number, e.Actor, want)
	}
}

// A half goes up, as the Streamlined Sales and Use Tax Agreement has it, section 324: carried to the third decimal
// place, and up to the next cent when that is greater than four (from memory).
func TestEstimate_RoundsAHalfAwayFromZero(t *testing.T) {
	for _, c := range []struct {
		price money.Amount
		tax   string
		want  money.Amount
	}{{50, "5", 3}, {50, "4.99", 2}, {10_00, "8.25", 83}, {20_00, "8.875", 1_78}, {1_00, "4.5", 5}, {1_00, "4.4999", 4}, {0, "100", 0}, {7_00, "100", 7_00}} {
		d := intake.EstimateDraft{Lines: []intake.EstimateLine{fixed(c.price, false)}, Tax: ptr(dec(c.tax))}
		if got := begun(t, d, house()).Last().Totals.Tax; got != c.want {
			t.Errorf("%s %% of %d = %d, want %d", c.tax, c.price, got, c.want)
		}
	}
	if got := labour("0.1", "0.1", "0.1", 25).Price(); got != 3 { // 2.5
		t.Errorf("a tenth of an hour at 0.25 = %d, want 3", got)
	}
}

// Whatever is asked, the figures add up to the smallest unit, tax is of the taxed lines alone, and the likely sum lies
// between the others.
func TestEstimate_AddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var lines []intake.EstimateLine
		var sum, taxed money.Amount
		for range rapid.IntRange(1, 8).Draw(t, "lines") {
			low := rapid.Int64Range(0, 400).Draw(t, "low")
			likely := rapid.Int64Range(max(1, low), 800).Draw(t, "likely")
			l := []intake.EstimateLine{
				{Kind: intake.LabourLine, Hours: intake.Hours{Low: decimal.New(low, -2), Likely: decimal.New(likely, -2), High: decimal.New(likely+50, -2)}, Rate: ptr(money.Amount(rapid.Int64Range(0, 20_000).Draw(t, "rate")))},
				material(money.Amount(rapid.Int64Range(0, 50_000).Draw(t, "cost")), "33.3333"),
				fixed(money.Amount(rapid.Int64Range(0, 50_000).Draw(t, "fixed")), false),
			}[rapid.IntRange(0, 2).Draw(t, "kind")]
			l.Untaxed = rapid.Bool().Draw(t, "untaxed")
			if sum += l.Price(); !l.Untaxed {
				taxed += l.Price()
			}
			lines = append(lines, l)
		}
		percent := decimal.New(rapid.Int64Range(0, 1_000_000).Draw(t, "percent"), -4)
		d := intake.EstimateDraft{Lines: lines, Tax: &percent, Discount: intake.AmountOrPercent{Percent: ptr(decimal.New(rapid.Int64Range(0, 10_000).Draw(t, "off"), -2))}}
		c, err := intake.Begin(intake.Client{}, nil, "", d, house(), writing())
		if err != nil {
			t.Fatal(err)
		}
		e := c.Last()
		got := e.Totals
		if got.Subtotal != sum || got.Total != got.Subtotal-got.Discount+got.Tax || got.Discount < 0 || got.Discount > sum || got.Tax < 0 {
			t.Fatalf("%+v of lines that come to %d", got, sum)
		}
		if untaxed := sum - taxed; got.Taxable < taxed-got.Discount || got.Taxable > taxed || taxed == 0 && got.Tax != 0 || got.Subtotal-got.Discount-got.Taxable > untaxed {
			t.Fatalf("tax is taken of %d, of %d taxed and %d untaxed with %d off", got.Taxable, taxed, untaxed, got.Discount)
		}
		if e.Low.Total > got.Total+1 || got.Total > e.High.Total+1 || e.Deposit > got.Total {
			t.Fatalf("%d is not between %d and %d, or the deposit %d is more", got.Total, e.Low.Total, e.High.Total, e.Deposit)
		}
	})
}

// A discount that is an amount is no more than the lines come to, also with the fewest hours.
func TestEstimate_DiscountWithTheFewestHours(t *testing.T) {
	d := intake.EstimateDraft{Lines: []intake.EstimateLine{labour("1", "4", "4", 50_00)}, Discount: intake.AmountOrPercent{Amount: ptr(money.Amount(120_00))}, Tax: ptr(dec("10"))}
	e := begun(t, d, house()).Last()
	if e.Totals.Total != 88_00 || e.Low != (intake.EstimateTotals{Subtotal: 50_00, Discount: 50_00}) {
		t.Errorf("likely %+v, at the least %+v, want 8800 and nothing", e.Totals, e.Low)
	}
}

// Who is exempt pays no tax, whatever the draft says, and the estimate says why.
func TestEstimate_Exempt(t *testing.T) {
	client := intake.AddClient(intake.ClientDetails{Name: "Parish", Exemption: &intake.Exemption{Reason: "church", Number: "E-7"}}, today)
	c, err := intake.Begin(client, nil, "pews", intake.EstimateDraft{Lines: []intake.EstimateLine{fixed(100_00, false)}, Tax: ptr(dec("8"))}, house(), writing())
	if e := c.Last(); err != nil || e.Totals.Tax != 0 || e.Totals.Total != 100_00 || e.Exemption.Reason != "church" || !e.Draft.Tax.IsZero() {
		t.Errorf("Begin = %+v, %v, want no tax and why", c.Last(), err)
	}
}

func TestEstimate_Refuses(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*intake.EstimateDraft, *intake.CommissionTerms)
		reason string
		field  string
	}{
		"LowAboveLikely": {func(d *intake.EstimateDraft, _ *intake.CommissionTerms) { d.Lines[0] = labour("3", "2", "4", 1) }, "HOURS_UPSIDE_DOWN", "draft.lines[0].labour.hours_likely"},
		"LikelyAboveHigh": {func(d *intake.EstimateDraft, _ *intake.CommissionTerms) { d.Lines[0] = labour("1", "5", "4", 1) }, "HOURS_UPSIDE_DOWN",
			"draft.lines[0].labour.hours_likely"},
		"NoHours": {func(d *intake.EstimateDraft, _ *intake.CommissionTerms) { d.Lines[0] = labour("0", "0", "4", 1) }, "HOURS_OUTSIDE", "draft.lines[0].labour.hours_likely"},
		"NoRate":  {func(d *intake.EstimateDraft, t *intake.CommissionTerms) { d.Lines[0].Rate, t.Rate = nil, 0 }, "RATE_MISSING", "draft.lines[0].labour.rate"},
		"TooMuch": {func(d *intake.EstimateDraft, _ *intake.CommissionTerms) {
			d.Lines = []intake.EstimateLine{labour("1", "1", "3", money.Max/2)}
		}, "SUM_TOO_LARGE", "draft.lines[0]"},
		"TooMuchTogether": {func(d *intake.EstimateDraft, _ *intake.CommissionTerms) {
			d.Lines = []intake.EstimateLine{fixed(money.Max, false), fixed(money.Max, false)}
		}, "SUM_TOO_LARGE", "draft.lines"},
		"Gift": {func(d *intake.EstimateDraft, _ *intake.CommissionTerms) {
			d.Discount.Amount = ptr(money.Amount(130_01))
		}, "DISCOUNT_ABOVE_SUBTOTAL", "draft.discount"},
		"Ransom":    {func(d *intake.EstimateDraft, _ *intake.CommissionTerms) { d.Deposit.Amount = ptr(money.Amount(141_55)) }, "DEPOSIT_ABOVE_TOTAL", "draft.deposit"},
		"Stale":     {func(d *intake.EstimateDraft, _ *intake.CommissionTerms) { d.ValidUntil = today.AddDate(0, 0, -1) }, "VALID_BEFORE_NOW", "draft.valid_until"},
		"Yesterday": {func(d *intake.EstimateDraft, _ *intake.CommissionTerms) { d.Promised = today.AddDate(0, 0, -1) }, "PROMISED_BEFORE_NOW", "draft.promised"},
	} {
		t.Run(name, func(t *testing.T) {
			d, terms := intake.EstimateDraft{Lines: []intake.EstimateLine{labour("2", "2", "2", 65_00)}}, house()
			c.change(&d, &terms)
			_, err := intake.Begin(intake.Client{}, nil, "", d, terms, writing())
			if f := fault.Of(err); f == nil || f.Reason != c.reason || f.Fields[0].Path != c.field {
				t.Errorf("Begin = %v (%+v), want %s at %s", err, f, c.reason, c.field)
			}
		})
	}
	d := intake.EstimateDraft{Lines: []intake.EstimateLine{labour("2", "2", "2", 65_00)}, Deposit: intake.AmountOrPercent{Amount: ptr(money.Amount(141_54))}, ValidUntil: today, Promised: today}
	if got := begun(t, d, house()).Last().Totals.Total; got != 141_54 { // 130.00 and 11.5375 of tax
		t.Errorf("what is just allowed comes to %d, want 14154", got)
	}
}

func TestParsePercent(t *testing.T) {
	for text, reason := range map[string]string{"0": "", "100": "", "8.875": "", "0.0001": "", "-1": "PERCENT_OUTSIDE", "100.0001": "PERCENT_OUTSIDE", "8.87501": "DECIMAL_MALFORMED",
		"1e2": "DECIMAL_MALFORMED", "8,5": "DECIMAL_MALFORMED", "eight": "DECIMAL_MALFORMED", " 8": "DECIMAL_MALFORMED", "9999999999": "DECIMAL_MALFORMED"} {
		d, err := intake.ParsePercent("tax_percent", text, intake.Whole)
		if fault.Reason(err) != reason || reason == "" && d.String() != text {
			t.Errorf("ParsePercent(%q) = %v, %v, want %q", text, d, err, reason)
		}
	}
	if d, err := intake.ParsePercent("tax_percent", "", intake.Whole); d != nil || err != nil {
		t.Errorf("ParsePercent of nothing = %v, %v", d, err)
	}
	if _, err := intake.ParseHours("hours_low", "100000.5", decimal.Zero); !fault.Is(err, "HOURS_OUTSIDE") {
		t.Errorf("ParseHours(100000.5) = %v", err)
	}
}
