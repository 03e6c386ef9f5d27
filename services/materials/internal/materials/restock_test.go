package materials_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/stock"
	"tackfree/services/materials/internal/materials"
)

var (
	hardware = id.New() // cheap, ten days
	corner   = id.New() // dear, tomorrow
)

// lacquer is a product of which two litres are on hand and a sound amount is used up by a topcoat
// in 20 days; a gallon takes ten days, a quart from the corner shop one.
func lacquer(t testing.TB) materials.Supply {
	t.Helper()
	return materials.Supply{
		Product: materials.Product{ID: id.New(), Name: "Satin lacquer", Unit: litre(t), OnHand: amount("2"), Value: 30_00}, Fresh: amount("2"), Days: 400,
		Needs: []materials.OpenNeed{topcoat(20, "3")},
		Offers: []materials.Offered{
			{Supplier: hardware, SupplierName: "Hardware store", Package: "gallon", Content: amount("3.785411784"), LeadDays: 10, Breaks: []stock.Break{{From: 1, Price: 45_00}}},
			{Supplier: corner, SupplierName: "Corner shop", Package: "quart", Content: amount("0.946352946"), LeadDays: 1, Breaks: []stock.Break{{From: 1, Price: 25_00}}},
		},
	}
}

func topcoat(day int, litres string) materials.OpenNeed {
	return materials.OpenNeed{Stage: id.New(), Piece: id.New(), Pass: 1, Title: "Topcoat of the dresser", Reserved: amount(litres),
		Due: materials.Due{Soonest: monday.AddDate(0, 0, day)}}
}

func advise(t testing.TB, s materials.Supply) materials.Advice {
	t.Helper()
	a, err := materials.UsualRestock.Advise(s, monday, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// Three weeks before there is time; the stage that would stand still is named all the same.
func TestAdvise_InTime(t *testing.T) {
	a := advise(t, lacquer(t))
	if a.Now || a.Buy != nil || a.Halt == nil || a.Halt.Lacks.String() != "1" || a.Cover != 20 {
		t.Errorf("Advise = %+v, halt %+v", a, a.Halt)
	}
	if day := a.By.Format("2 Jan"); a.By.Before(monday) || !strings.Contains(a.Why, "Topcoat of the dresser would lack 1 L on 22 Mar") {
		t.Errorf("by %s: %s", day, a.Why)
	}
	alerts := a.Alerts(time.UTC)
	if len(alerts) != 1 || alerts[0].Kind != materials.StageStandsStill || alerts[0].Text != "Topcoat of the dresser lacks 1 L of Satin lacquer on 22 Mar. Order it in time, or do it later." {
		t.Errorf("alerts = %+v", alerts)
	}
}

// On the last day for the cheap one it is bought there; a day too late for that, where it still comes in time.
func TestAdvise_WhoStillSavesTheStage(t *testing.T) {
	for _, c := range []struct {
		day      int
		supplier id.ID
		pack     string
	}{{12, hardware, "gallon"}, {10, hardware, "gallon"}, {9, corner, "quart"}, {2, corner, "quart"}, {0, corner, "quart"}} {
		s := lacquer(t)
		s.Needs = []materials.OpenNeed{topcoat(c.day, "3")}
		a := advise(t, s)
		if !a.Now && c.day >= 9 && c.supplier == corner {
			continue // the corner shop can wait for some days
		}
		if !a.Now || a.Buy == nil || a.Buy.Supplier != c.supplier || a.Buy.Package != c.pack {
			t.Errorf("%d days before: now %v, buy %+v", c.day, a.Now, a.Buy)
		}
	}
}

// What is ordered comes in time or not; what is overdue is taken to be as late again.
func TestAdvise_OnOrder(t *testing.T) {
	for expected, still := range map[int]bool{5: false, 20: false, 21: true, -3: false, -21: true} {
		s := lacquer(t)
		s.Coming = []materials.Coming{{Quantity: amount("3.785411784"), Expected: monday.AddDate(0, 0, expected)}}
		if a := advise(t, s); (a.Halt != nil) != still {
			t.Errorf("expected in %d days: %+v", expected, a.Halt)
		}
	}
}

// Days are those of the shop: at eight in the evening of Monday in Denver it is Tuesday in UTC.
func TestAdvise_DaysOfTheShop(t *testing.T) {
	denver, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	s := lacquer(t)
	s.Needs[0].Soonest = time.Date(2026, 3, 23, 2, 0, 0, 0, time.UTC) // still Sunday the 22nd there
	a, err := materials.UsualRestock.Advise(s, time.Date(2026, 3, 3, 3, 0, 0, 0, time.UTC), denver)
	if err != nil || a.Halt == nil || a.Halt.Day.Format("2 Jan") != "22 Mar" {
		t.Errorf("Advise = %+v, %v", a.Halt, err)
	}
	if due := a.Alerts(denver)[0].Due; !due.Equal(time.Date(2026, 3, 23, 0, 0, 0, 0, denver)) {
		t.Errorf("due at %s, want when the day is over there", due)
	}
}

// Not more is bought than is used while it keeps.
func TestAdvise_ShelfLife(t *testing.T) {
	s := lacquer(t)
	s.Needs, s.Fresh, s.Offers = nil, amount("0"), s.Offers[:1]
	for day := range 400 {
		s.Used = append(s.Used, stock.Used{Day: day, Amount: 0.05})
	}
	s.Offers[0].Breaks = append(s.Offers[0].Breaks, stock.Break{From: 4, Price: 25_00})
	if a := advise(t, s); a.Buy == nil || a.Buy.Count != 4 {
		t.Errorf("that keeps for ever: %+v", a.Buy)
	}
	s.Keeps = 120
	if a := advise(t, s); a.Buy == nil || a.Buy.Count != 1 {
		t.Errorf("that keeps for 120 days, in which 6 L are used: %+v", a.Buy)
	}
	s.Needs = []materials.OpenNeed{topcoat(0, "4")}
	if a := advise(t, s); a.Buy == nil || a.Buy.Count != 2 {
		t.Errorf("of which a stage lacks 4 L today: %+v", a.Buy)
	}
}

// What plans told of in time is no reason to hold stock; what nobody planned is.
func TestAdvise_HoldsForTheUnforeseen(t *testing.T) {
	s := lacquer(t)
	s.Needs, s.Offers = nil, s.Offers[:1]
	for week := range 57 {
		s.Used = append(s.Used, stock.Used{Day: 7 * week, Amount: 1, Ahead: 20})
	}
	if a := advise(t, s); a.Now || a.UseADay != 0 {
		t.Errorf("all was planned: now %v, %v a day", a.Now, a.UseADay)
	}
	for n := range s.Used {
		s.Used[n].Ahead = 1
	}
	if a := advise(t, s); !a.Now || math.Abs(a.UseADay-57.0/400) > 1e-9 {
		t.Errorf("nobody planned it: now %v, %v a day", a.Now, a.UseADay)
	}
}

// A slow supplier is learned from, and ordered from earlier.
func TestAdvise_LearnsTheTimeOfDelivery(t *testing.T) {
	s := lacquer(t)
	s.Offers = s.Offers[:1]
	before := advise(t, s)
	s.Offers[0].Took = []float64{15, 16, 15, 14, 15}
	if after := advise(t, s); !after.By.Before(before.By) || after.Lead.Mean < 13 {
		t.Errorf("an order by %s after deliveries of 15 days, by %s before", after.By, before.By)
	}
}

func TestAdvise_NobodySellsIt(t *testing.T) {
	s := lacquer(t)
	s.Offers, s.Needs = nil, []materials.OpenNeed{topcoat(3, "3")}
	a := advise(t, s)
	if !a.Now || a.Buy != nil || !strings.HasSuffix(a.Why, "; nobody is known to sell it.") {
		t.Errorf("Advise = %+v", a)
	}
	if text := a.Alerts(time.UTC)[1].Text; !strings.HasSuffix(text, "Nobody is known to sell it: enter who does.") || !materials.NobodySells(text) {
		t.Errorf("the alert says %q", text)
	}
}

// Nothing runs short where nothing is used.
func TestAdvise_Rests(t *testing.T) {
	s := lacquer(t)
	s.Needs = nil
	if a := advise(t, s); a.Now || !a.By.IsZero() || a.Cover != materials.Lasting || len(a.Alerts(time.UTC)) != 0 || !strings.HasSuffix(a.Why, ": nothing runs short.") {
		t.Errorf("Advise = %+v", a)
	}
}

// What is too old or closed is on hand, but does not keep a product above its mark.
func TestAdvise_BelowThreshold(t *testing.T) {
	s := lacquer(t)
	s.Needs, s.Product.Threshold = nil, amount("1.5")
	for fresh, want := range map[string]string{
		"2": "", "1.5": "",
		"1.2": "below threshold: 1.2 L of Satin lacquer can be used, beside 0.8 L that is closed or too old, and 1.5 L is the mark. Order some, or lower the mark.",
	} {
		s.Fresh = amount(fresh)
		if got := strings.Join(texts(advise(t, s)), " "); got != want {
			t.Errorf("%s L of 2 L can be used: %q, want %q", fresh, got, want)
		}
	}
	s.Fresh, s.Product.OnHand = amount("1.2"), amount("1.2")
	oneText(t, advise(t, s), "below threshold: 1.2 L of Satin lacquer is left, and 1.5 L is the mark. Order some, or lower the mark.")
}

func TestRestockPolicy_Check(t *testing.T) {
	if err := materials.UsualRestock.Check(); err != nil {
		t.Errorf("the usual policy: %v", err)
	}
	for field, change := range map[string]func(*materials.RestockPolicy){
		"service_level":      func(p *materials.RestockPolicy) { p.Service = 1 },
		"days_between_looks": func(p *materials.RestockPolicy) { p.Review = 0 },
		"holding_share":      func(p *materials.RestockPolicy) { p.Holding = math.NaN() },
		"order_cost":         func(p *materials.RestockPolicy) { p.OrderCost = -1 },
	} {
		p := materials.UsualRestock
		change(&p)
		if f := fault.Of(p.Check()); f == nil || f.Reason != "OUT_OF_RANGE" || f.Fields[0].Path != field {
			t.Errorf("%s: %v", field, f)
		}
	}
}

func TestOverdue(t *testing.T) {
	o := twoLines(t)
	o.SupplierName = "Hardware store"
	at := func(days int) []materials.Alert {
		return materials.Overdue([]materials.Order{o}, monday.AddDate(0, 0, days), time.UTC)
	}
	if len(at(5)) != 0 {
		t.Error("on its day it is late already")
	}
	if a := at(6); len(a) != 1 || a[0].Text != "Order 12 from Hardware store was expected on 7 Mar: 2 lines have not come. Ask them, or close it." {
		t.Errorf("the day after: %+v", a)
	}
	if err := receiveAll(&o); err != nil || len(at(6)) != 0 {
		t.Errorf("it is late although all has come, %v", err)
	}
}
