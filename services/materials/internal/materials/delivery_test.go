package materials_test

import (
	"slices"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
)

func TestProduct_Receive(t *testing.T) {
	b := newBench(materials.FirstIn)
	e := b.entry()
	e.Cost, e.Supplier, e.Code, e.Place = 92_00, "paint store", "B-7", id.New()
	e, err := b.Receive("", e, materials.Packed{Label: "QUART can", Count: 4})
	lot := b.lots[b.do(t, e, err).Lot]
	want := decimal.RequireFromString("3.785411784")
	if !lot.Quantity.Equal(want) || !lot.Left.Equal(want) || !b.OnHand.Equal(want) {
		t.Errorf("four quarts: received %v, left %v, on hand %v, want %s", lot.Quantity, lot.Left, b.OnHand, want)
	}
	if lot.ID != e.ID || lot.Root != e.ID || lot.Cost != 92_00 || lot.CostLeft != 92_00 || b.Value != 92_00 || lot.ReceivedAt != e.At {
		t.Errorf("lot %+v of product %+v", lot, b.Product)
	}
	if lot.Supplier != "paint store" || lot.Code != "B-7" || lot.Place != e.Place || lot.Opened || lot.Closed || !lot.Expires.IsZero() {
		t.Errorf("lot %+v", lot)
	}
}

// A can keeps as long as is printed on it, or else as long as the product does.
func TestProduct_Receive_Expires(t *testing.T) {
	p := shellac()
	p.ClosedDays = 365
	printed := start.AddDate(0, 6, 0)
	for said, want := range map[time.Time]time.Time{{}: start.Add(365 * 24 * time.Hour), printed: printed} {
		if e, err := p.Receive("", materials.Entry{At: start, Expires: said}, materials.Packed{Label: "quart can", Count: 1}); err != nil || !e.Expires.Equal(want) {
			t.Errorf("printed %v: expires %v, %v; want %v", said, e.Expires, err, want)
		}
	}
}

func TestProduct_Receive_Refuses(t *testing.T) {
	cans := func(n int32) materials.Packed { return materials.Packed{Label: "quart can", Count: n} }
	cases := map[string]struct {
		amount        materials.Packed
		expires       time.Time
		reason, field string
	}{
		"UnknownPackage": {materials.Packed{Label: "drum", Count: 1}, time.Time{}, "PACKAGE_UNKNOWN", "packages.label"},
		"Grams":          {materials.Packed{Quantity: of(decimal.NewFromInt(1), "g")}, time.Time{}, "UNIT_OF_ANOTHER_MEASURE", "quantity"},
		"ALake":          {materials.Packed{Quantity: litres("1000001")}, time.Time{}, "QUANTITY_ABSURD", "quantity"},
		"ATrace":         {materials.Packed{Quantity: litres("0.0000009999")}, time.Time{}, "QUANTITY_ABSURD", "quantity"},
		"ALakeInCans":    {cans(1_100_000), time.Time{}, "QUANTITY_ABSURD", "packages.count"},
		"TooOldAlready":  {cans(1), start, "EXPIRES_BEFORE_RECEIVED", "expire_date"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			_, err := shellac().Receive("", materials.Entry{At: start, Expires: c.expires}, c.amount)
			wantFault(t, err, c.reason, c.field)
			_, err = shellac().Receive("lines[3].", materials.Entry{At: start, Expires: c.expires}, c.amount)
			wantFault(t, err, c.reason, "lines[3]."+c.field)
		})
	}
}

func TestProduct_Receive_NoPackagesAtAll(t *testing.T) {
	p := shellac()
	p.Packages = nil
	_, err := p.Receive("", materials.Entry{At: start}, materials.Packed{Label: "quart can", Count: 1})
	wantFault(t, err, "PACKAGE_UNKNOWN", "packages.label")
}

// Freight and discount go with what the lines cost, and the odd cents to the largest remainders.
func TestLanded(t *testing.T) {
	for name, c := range map[string]struct {
		costs             []money.Amount
		freight, discount money.Amount
		want              []money.Amount
	}{
		"Neither":           {[]money.Amount{10_00, 20_00}, 0, 0, []money.Amount{10_00, 20_00}},
		"Freight":           {[]money.Amount{10_00, 20_00, 70_00}, 15_00, 0, []money.Amount{11_50, 23_00, 80_50}},
		"OddCents":          {[]money.Amount{1_00, 1_00, 1_00}, 1_01, 0, []money.Amount{1_34, 1_34, 1_33}},
		"LargestRemainder":  {[]money.Amount{1_00, 5_00}, 10, 0, []money.Amount{1_02, 5_08}}, // 1.67 and 8.33 cents
		"Discount":          {[]money.Amount{10_00, 30_00}, 0, 4_00, []money.Amount{9_00, 27_00}},
		"Both":              {[]money.Amount{10_00, 30_00}, 8_00, 4_00, []money.Amount{11_00, 33_00}},
		"AllOff":            {[]money.Amount{10_00, 30_00}, 0, 40_00, []money.Amount{0, 0}},
		"AGiftCostsNoCents": {[]money.Amount{0, 30_00}, 5_00, 0, []money.Amount{0, 35_00}},
		"AllGifts":          {[]money.Amount{0, 0, 0}, 1_00, 0, []money.Amount{34, 33, 33}},
	} {
		if got, err := materials.Landed(c.costs, c.freight, c.discount); err != nil || !slices.Equal(got, c.want) {
			t.Errorf("%s: Landed(%v, %d, %d) = %v, %v, want %v", name, c.costs, c.freight, c.discount, got, err, c.want)
		}
	}
	_, err := materials.Landed([]money.Amount{10_00, 30_00}, 8_00, 40_01)
	wantFault(t, err, "COST_BELOW_ZERO", "discount")
}

// Whatever is on a bill, its lines cost together what was paid, and none costs less than nothing.
func TestLanded_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cents := rapid.Map(rapid.Int64Range(0, 1_000_000), func(n int64) money.Amount { return money.Amount(n) })
		costs := rapid.SliceOfN(cents, 1, 20).Draw(t, "costs")
		freight, discount := cents.Draw(t, "freight"), cents.Draw(t, "discount")
		sum := money.Amount(0)
		for _, c := range costs {
			sum += c
		}
		landed, err := materials.Landed(costs, freight, discount)
		if (err != nil) != (discount > sum) {
			t.Fatalf("a discount of %d on %d: %v", discount, sum, err)
		}
		if err != nil {
			return
		}
		for n, c := range landed {
			if sum -= c; c < 0 {
				t.Fatalf("line %d of %v costs %d", n, costs, c)
			}
		}
		if sum != discount-freight {
			t.Fatalf("Landed(%v, %d, %d) = %v", costs, freight, discount, landed)
		}
	})
}

func TestLot_CorrectCost(t *testing.T) {
	b := newBench(materials.FirstIn)
	lot := b.receive(t, "2", 20_00)
	used := b.issue(t, "0.5")
	e, err := lot.CorrectCost(b.entry(), 26_00)
	if err != nil || !e.At.Equal(lot.ReceivedAt) || e.Cost != 6_00 || e.Purpose != materials.ForCorrection {
		t.Fatalf("CorrectCost = %+v, %v", e, err)
	}
	s, err := b.post(e)
	if err != nil || len(s.Recosted) != 1 || b.Value != 19_50 {
		t.Fatalf("%v recosted %v and leaves %d", err, s.Recosted, b.Value)
	}
	if old, now := s.Recosted[0].Cost(); s.Recosted[0].ID != used.ID || s.Recosted[0].Because != e.ID || old != 5_00 || now != 6_50 {
		t.Errorf("the issue cost %d and now %d, because of %v", old, now, s.Recosted[0].Because)
	}
	right := b.lots[lot.ID]
	if right.Cost != 26_00 || right.CostLeft != 19_50 {
		t.Errorf("the lot is %+v", right)
	}
	part, mixed := right, right
	part.ID, mixed.Mix = id.New(), id.New()
	for _, c := range []struct {
		lot           materials.Lot
		cost          money.Amount
		reason, field string
	}{
		{part, 1, "LOT_IS_A_PART", "lot"},
		{mixed, 1, "LOT_WAS_MIXED", "lot"},
		{right, 26_00, "CORRECTION_CHANGES_NOTHING", "cost"},
	} {
		_, err := c.lot.CorrectCost(b.entry(), c.cost)
		wantFault(t, err, c.reason, c.field)
	}
	if _, err := part.CorrectCost(b.entry(), 1); fault.Of(err).Meta["root"] != right.Root.String() {
		t.Errorf("a part: %v does not name its lot", err)
	}
}
