package e2e_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// stockOf is what happens to one product, in the order of its days in March 2026.
type stockOf []happening

// happening is something that happens to a product. A shop that knows all of it at once writes it down
// on its day; another learns some of it afterwards.
type happening struct {
	day   int
	what  string // delivery, issue, return, waste, hose, count, opening
	units string
	cents int64 // of a delivery: what it cost
	told  int64 // what its bill was first said to be
	of    int   // of a return: which of the issues before it
	late  bool  // a delivery that is written down after all others
	slip  bool  // it never was, and is undone after all others
}

// noted is what became of a happening: a delivery's lot, an issue, or a movement.
type noted struct {
	happening
	name, lot string
}

// lateShop is a shop with one product and one piece in work.
type lateShop struct {
	hand
	product, stage string
}

// on is noon of a day of March 2026, well after the piece of a floor came in.
func on(day int) *timestamppb.Timestamp {
	return timestamppb.New(time.Date(2026, 3, 2+day, 18, 0, 0, 0, time.UTC))
}

func centsOf(n int64) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "USD", Units: n / 100, Nanos: int32(n % 100 * 10_000_000)}
}

// note writes a happening down.
func (s lateShop) note(h happening, before []noted) noted {
	s.Helper()
	n := noted{happening: h}
	switch at := on(h.day); h.what {
	case "delivery":
		line := &materialsv1.DeliveryLine{Product: s.product, Cost: centsOf(h.told), Amount: &materialsv1.DeliveryLine_Quantity{Quantity: measure(h.units, "each")}}
		n.lot = done[*materialsv1.ReceiveDeliveryResponse](s.hand)(s.Stock.ReceiveDelivery(s.ctx, &materialsv1.ReceiveDeliveryRequest{RequestId: newID(),
			Lines: []*materialsv1.DeliveryLine{line}, ReceiveTime: at})).Lots[0].Name
	case "issue":
		n.name = done[*materialsv1.IssueMaterialResponse](s.hand)(s.Materials.IssueMaterial(s.ctx, &materialsv1.IssueMaterialRequest{RequestId: newID(), Product: s.product,
			Quantity: measure(h.units, "each"), Stage: s.stage, IssueTime: at})).Issue.Name
	case "return":
		n.name = before[h.of].name
		done[*materialsv1.ReturnMaterialResponse](s.hand)(s.Stock.ReturnMaterial(s.ctx, &materialsv1.ReturnMaterialRequest{RequestId: newID(), Issue: n.name,
			Quantity: measure(h.units, "each"), ReturnTime: at}))
	case "waste", "hose":
		r := &materialsv1.RecordWasteRequest{RequestId: newID(), Product: s.product, Quantity: measure(h.units, "each"), Cause: materialsv1.WasteCause_WASTE_CAUSE_SPILT, WasteTime: at}
		if h.what == "hose" {
			r.Cause, r.Stage = materialsv1.WasteCause_WASTE_CAUSE_HOSE, s.stage
		}
		n.name = done[*materialsv1.RecordWasteResponse](s.hand)(s.Stock.RecordWaste(s.ctx, r)).Movement.Name
	case "count":
		n.name = done[*materialsv1.CountStockResponse](s.hand)(s.Stock.CountStock(s.ctx, &materialsv1.CountStockRequest{RequestId: newID(), Product: s.product,
			Quantity: measure(h.units, "each"), CountTime: at})).Movement.Name
	case "opening":
		done[*materialsv1.OpenPackageResponse](s.hand)(s.Stock.OpenPackage(s.ctx, &materialsv1.OpenPackageRequest{RequestId: newID(), Lot: before[h.of].lot, OpenTime: at,
			Amount: &materialsv1.OpenPackageRequest_Quantity{Quantity: measure(h.units, "each")}}))
	default:
		s.Fatalf("nothing is noted of %q", h.what)
	}
	return n
}

// knows writes all of it down on its day, as it was.
func (s lateShop) knows(all stockOf) {
	s.Helper()
	before := make([]noted, len(all))
	for i, h := range all {
		if h.told = h.cents; !h.slip {
			before[i] = s.note(h, before)
		}
	}
}

// learns writes it down as it is told, and then puts it right.
func (s lateShop) learns(all stockOf) {
	s.Helper()
	before := make([]noted, len(all))
	for i, h := range all {
		if !h.late {
			before[i] = s.note(h, before)
		}
	}
	for i, h := range all {
		if h.late {
			before[i] = s.note(h, before)
		}
	}
	for _, n := range before {
		s.putRight(n)
	}
}

// putRight corrects the bill of what was not told right, and undoes what never was.
func (s lateShop) putRight(n noted) {
	s.Helper()
	switch {
	case n.slip && n.what == "issue":
		done[*materialsv1.TakeBackIssueResponse](s.hand)(s.Materials.TakeBackIssue(s.ctx, &materialsv1.TakeBackIssueRequest{RequestId: newID(), Issue: n.name, Reason: "another piece"}))
	case n.slip && n.what == "delivery":
		done[*materialsv1.UndoEntryResponse](s.hand)(s.Stock.UndoEntry(s.ctx, &materialsv1.UndoEntryRequest{RequestId: newID(), Reason: "typed twice",
			Entry: s.product + "/entries/" + n.lot[len(s.product+"/lots/"):]}))
	case n.slip && n.what != "return": // what came back of an issue that was taken back is gone with it
		done[*materialsv1.UndoEntryResponse](s.hand)(s.Stock.UndoEntry(s.ctx, &materialsv1.UndoEntryRequest{RequestId: newID(), Entry: n.name, Reason: "a slip"}))
	case n.what == "delivery" && n.told != n.cents:
		done[*materialsv1.CorrectLotCostResponse](s.hand)(s.Stock.CorrectLotCost(s.ctx, &materialsv1.CorrectLotCostRequest{RequestId: newID(), Lot: n.lot, Cost: centsOf(n.cents), Reason: "the bill"}))
	}
}

// balances are the trial balances at the end of some days, once the books have everything.
func (s lateShop) balances(days int) []map[string]money.Amount {
	s.Helper()
	verified(s.T, s.Shop)
	out := make([]map[string]money.Amount, days)
	for day := range out {
		r := done[*costingv1.GetTrialBalanceResponse](s.hand)(s.Months.GetTrialBalance(s.ctx, &costingv1.GetTrialBalanceRequest{Time: timestamppb.New(on(day).AsTime().Add(time.Hour))}))
		out[day] = map[string]money.Amount{}
		for _, row := range r.Rows {
			debit, _ := wire.FromMoney(row.Debit, 2)
			credit, _ := wire.FromMoney(row.Credit, 2)
			out[day][row.Account] = debit - credit
		}
	}
	return out
}

// lateShops opens a shop that knows all at once and one that learns it afterwards.
func lateShops(t *testing.T, chosen func(hand)) (knowing, learning lateShop) {
	t.Helper()
	for _, s := range []*lateShop{&knowing, &learning} {
		shop := open(t, nil).Shop
		s.hand = stockhand(t, shop)
		chosen(s.hand)
		s.stage = newFloor(t, shop, 0, 1).stages[0]
	}
	return knowing, learning
}

// lastDay is the last of the days of a history.
const lastDay = 9

// histories are what can happen to a product of which twenty pieces of five deliveries are there at
// first, so that there is always enough.
var histories = rapid.Custom(func(t *rapid.T) (all stockOf) {
	cents := rapid.Int64Range(0, 9_999)
	delivery := func(day int, units string) happening {
		h := happening{day: day, what: "delivery", units: units, cents: cents.Draw(t, "cents")}
		h.told = h.cents
		if rapid.Bool().Draw(t, "another bill") {
			h.told = cents.Draw(t, "told")
		}
		return h
	}
	for range 5 {
		all = append(all, delivery(0, "4"))
	}
	whats := []string{"delivery", "issue", "issue", "return", "waste", "hose", "count", "opening"}
	day := 1
	for range rapid.IntRange(3, 10).Draw(t, "happenings") {
		day = min(lastDay, day+rapid.IntRange(0, 2).Draw(t, "days"))
		h := happening{day: day, what: rapid.SampledFrom(whats).Draw(t, "what"), units: rapid.StringMatching(`1|0\.[1-9]`).Draw(t, "units")}
		switch h.what {
		case "delivery":
			h = delivery(day, "3")
			h.late = rapid.Bool().Draw(t, "late")
			h.slip = rapid.Bool().Draw(t, "slip")
		case "return":
			if h.of = all.issue(); h.of < 0 {
				continue
			}
			h.units, h.slip = "0.05", all[h.of].slip
		case "count":
			h.units, h.slip = rapid.SampledFrom([]string{"11", "12.3"}).Draw(t, "found"), rapid.Bool().Draw(t, "slip")
		case "opening":
			h.of = rapid.IntRange(0, 4).Draw(t, "lot")
			h.units = "0.01"
		default:
			h.slip = rapid.Bool().Draw(t, "slip")
		}
		all = append(all, h)
	}
	return all
})

// issue is the last issue of which nothing came back yet; below zero: there is none.
func (all stockOf) issue() int {
	for i := len(all) - 1; i >= 0; i-- {
		switch all[i].what {
		case "return":
			return -1
		case "issue":
			return i
		}
	}
	return -1
}

// A bill that is put right, a delivery that is written down late and slips that are undone leave the
// books of each day as they are where all had been known at once.
func TestStory_WhatIsKnownLateCountsFromWhenItHappened(t *testing.T) {
	for name, chosen := range map[string]func(hand){"FirstInFirstOut": func(hand) {}, "MovingAverage": hand.averages} {
		t.Run(name, func(t *testing.T) {
			knowing, learning := lateShops(t, chosen)
			for seed := range 6 {
				all := histories.Example(seed)
				knowing.product, learning.product = knowing.hand.product("Glue "+newID(), "each"), learning.hand.product("Glue "+newID(), "each")
				knowing.knows(all)
				learning.learns(all)
				want, got := knowing.balances(lastDay+2), learning.balances(lastDay+2)
				if diff := cmp.Diff(want, got); diff != "" {
					t.Fatalf("history %d, %+v: trial balances by day (-known at once +put right):\n%s", seed, all, diff)
				}
			}
		})
	}
}

// The worked example of Principles of Accounting, Volume 1: Financial Accounting (OpenStax, CC BY-NC-SA
// 4.0), chapter 10: 150 at 21, 120 sold, 225 at 27, 180 sold, 210 at 33. The bill of the second delivery
// comes late: it was first said to be 20 each. After it the books of each day are those of the example.
func TestStory_TheWorkedExampleWithALateBill(t *testing.T) {
	all := stockOf{{day: 0, what: "delivery", units: "150", cents: 3_150_00, told: 3_150_00}, {day: 2, what: "issue", units: "120"},
		{day: 4, what: "delivery", units: "225", cents: 6_075_00, told: 4_500_00}, {day: 6, what: "issue", units: "180"},
		{day: 8, what: "delivery", units: "210", cents: 6_930_00, told: 6_930_00}}
	for name, c := range map[string]struct {
		chosen func(hand)
		onHand map[int]money.Amount
	}{
		"FirstInFirstOut": {func(hand) {}, map[int]money.Amount{0: 3_150_00, 2: 630_00, 4: 6_705_00, 6: 2_025_00, 8: 8_955_00}},
		"MovingAverage":   {hand.averages, map[int]money.Amount{0: 3_150_00, 2: 630_00, 4: 6_705_00, 6: 1_972_06, 8: 8_902_06}},
	} {
		t.Run(name, func(t *testing.T) {
			_, learning := lateShops(t, c.chosen)
			learning.product = learning.hand.product("Glue", "each")
			learning.learns(all)
			got := learning.balances(lastDay)
			bought := map[int]money.Amount{0: 3_150_00, 2: 3_150_00, 4: 9_225_00, 6: 9_225_00, 8: 16_155_00}
			for day, want := range c.onHand {
				if b := got[day]; b["materials_on_hand"] != want || b["work_in_process"] != bought[day]-want || b["cash_clearing"] != -bought[day] {
					t.Errorf("on day %d: %v; want %d on hand of %d", day, b, want, bought[day])
				}
			}
		})
	}
}
