package costing_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// costs is a piece in hand that cost so much in so many hours.
func costs(amount money.Amount, worked time.Duration) costing.Sheet {
	return costing.Sheet{Piece: id.New(), Sales: costing.NotListed, Sums: costing.Sums{Material: amount, LabourTime: worked}}
}

// Markup is profit by cost, margin profit by price; so of a markup m the margin is m / (1 + m): the
// table that retail arithmetic prints of both.
func TestOutcome_MarginAndMarkup(t *testing.T) {
	for _, c := range []struct {
		cost, price    money.Amount
		markup, margin string
	}{
		{100_00, 110_00, "10", "9.0909"}, {100_00, 125_00, "25", "20"}, {75_00, 100_00, "33.3333", "25"}, {100_00, 150_00, "50", "33.3333"},
		{100_00, 175_00, "75", "42.8571"}, {100_00, 200_00, "100", "50"}, {100_00, 300_00, "200", "66.6667"}, {100_00, 400_00, "300", "75"},
		{80_00, 100_00, "25", "20"}, {70_00, 100_00, "42.8571", "30"}, {60_00, 100_00, "66.6667", "40"}, {40_00, 100_00, "150", "60"}, {25_00, 100_00, "300", "75"},
		{0, 100_00, "", "100"}, {100_00, 0, "-100", ""},
	} {
		o, err := costs(c.cost, time.Hour).If(costing.Offer{Price: c.price})
		if err != nil || o.Markup(c.price) != c.markup || o.Margin(c.price) != c.margin {
			t.Errorf("cost %d, price %d: markup %s, margin %s, %v; want %s and %s", c.cost, c.price, o.Markup(c.price), o.Margin(c.price), err, c.markup, c.margin)
		}
	}
}

// M. Franklin, P. Graybeal and D. Cooper, Principles of Accounting, Volume 2: Managerial Accounting
// (OpenStax, 2019), section 3.2 and 3.3: a firm with fixed costs of 18,000 and variable ones of 20 a
// unit breaks even at 22,500, with 225 units, and needs 42,500, with 425, to earn 16,000. A shop that
// sells shirts at 15 with 10 of cost each and 100 fixed breaks even at 300, with 20.
func TestSheet_If_BreakEvenPublished(t *testing.T) {
	for _, c := range []struct{ cost, target, breakEven, reaching money.Amount }{
		{18_000_00 + 225*20_00, 0, 22_500_00, 22_500_00},
		{18_000_00 + 425*20_00, 16_000_00, 26_500_00, 42_500_00},
		{100_00 + 20*10_00, 0, 300_00, 300_00},
	} {
		o, err := costs(c.cost, time.Hour).If(costing.Offer{Target: c.target})
		if err != nil || o.BreakEven != c.breakEven || o.Reaching != c.reaching {
			t.Errorf("cost %d: break-even %d, with the target %d, %v; want %d and %d", c.cost, o.BreakEven, o.Reaching, err, c.breakEven, c.reaching)
		}
	}
}

// At the break-even price nothing is lost, and at one minor unit less something is; so with the target.
func TestSheet_If_PricesAreTheLowest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		amount := func(name string, most int64) money.Amount {
			return money.Amount(rapid.Int64Range(0, most).Draw(t, name))
		}
		s := costs(amount("cost", 1_000_000_00), time.Duration(rapid.Int64Range(60_000, 1e9).Draw(t, "worked"))*time.Millisecond)
		s.Fees = amount("fees", 100_00)
		offer := costing.Offer{FeeShare: rapid.SampledFrom([]int64{0, 1, 50_000, 125_000, 333_333, 999_999}).Draw(t, "share"), Fee: amount("fee", 50_00),
			ToCome: time.Hour, Standard: amount("standard", 100_00), Material: amount("material", 100_00), Target: amount("target", 100_00)}
		if offer.FeeShare == 999_999 {
			s.Material = amount("small", 100)
		}
		at := func(price money.Amount) money.Amount {
			offer.Price = price
			o, err := s.If(offer)
			if err != nil {
				t.Fatal(err)
			}
			return o.Profit
		}
		o, err := s.If(offer)
		if err != nil {
			t.Fatal(err)
		}
		for price, earns := range map[money.Amount]money.Amount{o.BreakEven: 0, o.Reaching: costing.ForTime(offer.Target, o.Time)} {
			if at(price) < earns || price > 0 && at(price-1) >= earns {
				t.Fatalf("%d is not the lowest price that earns %d: it earns %d, and one less %d", price, earns, at(price), at(price-1))
			}
		}
	})
}

// The hours to come bear what the sheet will: 1:30 at 24.00 is 36.00, 7.65 % on that 2.754, and 1:30 at
// 11.11 of overhead 16.665, each rounded by itself, half to even.
func TestSheet_If_HoursToComeBearBurdenAndOverhead(t *testing.T) {
	o, err := costs(100_00, time.Hour).If(costing.Offer{Price: 200_00, ToCome: 90 * time.Minute, Standard: 24_00, OnTop: costing.OnTop{Burden: 76_500, Overhead: 11_11}, Material: 9_00})
	if err != nil {
		t.Fatal(err)
	}
	if want := (costing.Price{Pay: 36_00, Burden: 2_75, Overhead: 16_66}); o.ToCome != want || o.Cost != 100_00+36_00+2_75+16_66+9_00 || o.Profit != 200_00-o.Cost || o.BreakEven != o.Cost {
		t.Errorf("If = %+v, want %+v to come", o, want)
	}
}

// The burden of hours to come is that of those who worked, by the pay for their hours, their own before
// everybody's; the overhead is the whole shop's, and only by the labour hour. Both are those of the day.
func TestTerms_OnTopAt(t *testing.T) {
	nell, ola, rae := id.New(), id.New(), id.New()
	before, later := monday.AddDate(0, -1, 0), monday.AddDate(0, 1, 0)
	burdens := []costing.Burden{{ID: id.New(), From: before, Share: 100_000}, {ID: id.New(), Person: ola, From: before, Share: 200_000}, {ID: id.New(), From: later, Share: 500_000}}
	overheads := []costing.OverheadRate{{ID: id.New(), Basis: costing.LabourHour, From: before, PerHour: 9_00}, {ID: id.New(), Basis: costing.LabourHour, From: later, PerHour: 99_00},
		{ID: id.New(), Department: "booth", StageKinds: []string{"seal"}, Basis: costing.LabourHour, From: before, PerHour: 40_00}}
	terms := costing.NewTerms(nil, burdens, overheads)
	worked := []costing.RatedHours{{Person: nell, PerHour: 20_00, Time: 3 * time.Hour}, {Person: ola, PerHour: 30_00, Time: time.Hour}, {Person: rae, PerHour: 0, Time: 100 * time.Hour}}
	for _, c := range []struct {
		what   string
		worked []costing.RatedHours
		at     time.Time
		want   costing.OnTop
	}{
		// 10 % of 60.00 and 20 % of 30.00 are 12.00 of 90.00.
		{"by the pay", worked, monday, costing.OnTop{Burden: 133_333, Overhead: 9_00}},
		{"while nobody worked", nil, monday, costing.OnTop{Burden: 100_000, Overhead: 9_00}},
		{"of an owner without pay alone", worked[2:], monday, costing.OnTop{Burden: 100_000, Overhead: 9_00}},
		{"a month later", worked[1:2], later, costing.OnTop{Burden: 200_000, Overhead: 99_00}},
		{"before any of it", worked, before.AddDate(0, 0, -1), costing.OnTop{}},
	} {
		if got := terms.OnTopAt(c.at, c.worked); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.what, got, c.want)
		}
	}
	machines := costing.NewTerms(nil, nil, []costing.OverheadRate{{ID: id.New(), Basis: costing.MachineHour, From: before, PerHour: 9_00}})
	if got := machines.OnTopAt(monday, nil); got != (costing.OnTop{}) {
		t.Errorf("by the machine hour: %+v", got)
	}
}

func TestSheet_If_Refuses(t *testing.T) {
	sold, scrapped := costs(1, time.Hour), costs(1, time.Hour)
	sold.Sales, scrapped.Scrapped = costing.Sold, true
	for reason, refuse := range map[string]func() (costing.Outcome, error){
		"PIECE_SOLD":     func() (costing.Outcome, error) { return sold.If(costing.Offer{}) },
		"PIECE_SCRAPPED": func() (costing.Outcome, error) { return scrapped.If(costing.Offer{}) },
		"FEE_EATS_PRICE": func() (costing.Outcome, error) { return costs(1, 0).If(costing.Offer{FeeShare: 1_000_000}) },
	} {
		if _, err := refuse(); !fault.Is(err, reason) {
			t.Errorf("If = %v, want %s", err, reason)
		}
	}
}

func TestPercent(t *testing.T) {
	for want, of := range map[string][2]money.Amount{"50": {1, 2}, "33.3333": {1, 3}, "-66.6667": {-2, 3}, "0": {0, 5}, "100": {5, 5}, "250": {5, 2}, "0.0001": {1, 1_000_000}} {
		if got := costing.Percent(of[0], of[1]); got != want {
			t.Errorf("Percent(%d, %d) = %q, want %q", of[0], of[1], got, want)
		}
	}
	if costing.Percent(1, 0) != "" || costing.Percent(1, -1) != "" {
		t.Error("of nothing there is a percentage")
	}
}
