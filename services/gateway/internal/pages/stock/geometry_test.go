package stock

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func amount(t *rapid.T, label string) decimal.Decimal {
	return decimal.New(rapid.Int64Range(0, 1_000_000).Draw(t, label), -3)
}

// What is promised and what is free add up to what is there, and nothing leaves the can.
func TestFill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		onHand, reserved, onOrder, threshold := amount(t, "on hand"), amount(t, "reserved"), amount(t, "on order"), amount(t, "threshold")
		l := fill(onHand, reserved, onOrder, threshold)
		for name, y := range map[string]int{"promised": l.Promised, "free": l.Free, "promised, deep": canBottom - l.PromisedDeep, "free, deep": canBottom - l.FreeDeep} {
			if y < canRim || y > canBottom {
				t.Fatalf("%s: %d is outside %d to %d", name, y, canRim, canBottom)
			}
		}
		if l.Free+l.FreeDeep+l.PromisedDeep != canBottom || l.FreeDeep < 0 {
			t.Fatalf("%+v does not add up to the bottom", l)
		}
		if reserved.GreaterThanOrEqual(onHand) && l.FreeDeep != 0 {
			t.Fatalf("%v of %v is promised, and %d is drawn as free", reserved, onHand, l.FreeDeep)
		}
		if (l.Lacks != 0) != reserved.GreaterThan(onHand) || (l.Ordered != 0) != onOrder.IsPositive() || (l.Threshold != 0) != threshold.IsPositive() {
			t.Fatalf("%+v has a line too many or too few", l)
		}
		if l.Lacks != 0 && l.Lacks > l.Free {
			t.Fatalf("what is lacking is drawn below what is there: %+v", l)
		}
	})
}

func TestFill_HalfPromised(t *testing.T) {
	if l := fill(decimal.New(4, 0), decimal.New(1, 0), decimal.Zero, decimal.New(2, 0)); l != (level{Promised: 48, Free: 12, PromisedDeep: 12, FreeDeep: 36, Threshold: 36}) {
		t.Errorf("fill(4, 1, 0, 2) = %+v", l)
	}
}

var madrid = func() *time.Location {
	zone, err := time.LoadLocation("Europe/Madrid")
	if err != nil {
		panic(err)
	}
	return zone
}()

var wednesday = time.Date(2026, 3, 25, 11, 0, 0, 0, madrid) // the clocks go forward on the Sunday after

func need(title string, after int, litres string) *materialsv1.Need {
	return &materialsv1.Need{StageTitle: title, Reserved: &typev1.Quantity{Value: litres, Unit: "L"}, WantedTime: timestamppb.New(wednesday.AddDate(0, 0, after))}
}

func order(product string, after int, ordered, received string) *materialsv1.Order {
	on := wednesday.AddDate(0, 0, after)
	return &materialsv1.Order{SupplierName: "Vatman & Co", ExpectDate: &date.Date{Year: int32(on.Year()), Month: int32(on.Month()), Day: int32(on.Day())},
		Lines: []*materialsv1.Order_Line{{Product: product, Ordered: &typev1.Quantity{Value: ordered, Unit: "L"}, Received: &typev1.Quantity{Value: received, Unit: "L"}}}}
}

func TestCourseOf(t *testing.T) {
	c := courseOf("products/oil", &typev1.Quantity{Value: "2000", Unit: "mL"}, []*materialsv1.Need{need("late", -3, "0.5"), need("then", 5, "2"), need("last", 90, "1")},
		[]*materialsv1.Order{order("products/oil", 5, "4", "1"), order("products/other", 1, "9", "0")}, wednesday, madrid)
	var got []string
	for _, s := range c.Steps {
		got = append(got, s.Title+" "+s.Left.Value)
	}
	// Of one day what plans take comes before what is delivered.
	want := []string{"late 1.5", "then -0.5", "Vatman & Co 2.5", "last 1.5"}
	for i := range want {
		if len(got) != len(want) || got[i] != want[i] {
			t.Fatalf("steps %q, want %q", got, want)
		}
	}
	if !c.Steps[0].Sooner || c.Steps[1].Sooner || !c.Steps[0].On.Equal(noonOf(wednesday, madrid)) {
		t.Errorf("what is overdue counts today: %+v", c.Steps[0])
	}
	if c.Short == nil || c.Short.Title != "then" || !c.Expected {
		t.Errorf("short at %+v, want at then; expected %t", c.Short, c.Expected)
	}
	if c.Drawing.Later != 1 || len(c.Drawing.Came) != 1 {
		t.Errorf("later %d, came %v; want one each", c.Drawing.Later, c.Drawing.Came)
	}
}

// Whatever comes and goes, it is drawn within the drawing, and in the order of time.
func TestDraw_StaysInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var needs []*materialsv1.Need
		for range rapid.IntRange(0, 12).Draw(t, "needs") {
			needs = append(needs, need("n", rapid.IntRange(-5, 120).Draw(t, "day"), amount(t, "litres").String()))
		}
		orders := []*materialsv1.Order{order("products/oil", rapid.IntRange(-5, 120).Draw(t, "delivery"), amount(t, "ordered").String(), "0")}
		d := courseOf("products/oil", &typev1.Quantity{Value: amount(t, "on hand").String(), Unit: "L"}, needs, orders, wednesday, madrid).Drawing
		inside := func(what string, x, y int) {
			if x < 0 || x > drawWide || y < 0 || y > drawHigh {
				t.Fatalf("%s at %d, %d is outside", what, x, y)
			}
		}
		for _, b := range d.Lacks {
			inside("lack", b.X, b.Y)
			inside("lack", b.X+b.Wide, b.Y+b.High)
			if b.Wide <= 0 || b.High < 0 || b.Y != d.Zero {
				t.Fatalf("%+v is no stretch below nothing (%d)", b, d.Zero)
			}
		}
		for _, p := range d.Came {
			inside("delivery", p.X, p.Y)
		}
		for i, k := range d.Ticks {
			inside("tick", k.X, plotBottom)
			if i > 0 && k.X <= d.Ticks[i-1].X {
				t.Fatalf("ticks go back: %v", d.Ticks)
			}
		}
		if len(d.Ticks) > tickCount {
			t.Fatalf("%d ticks, want %d at most", len(d.Ticks), tickCount)
		}
	})
}

// A day in which the clocks change is one day too.
func TestDayAfter(t *testing.T) {
	today := noonOf(wednesday, madrid)
	for n := range 14 {
		if got := dayAfter(noonOf(wednesday.AddDate(0, 0, n), madrid), today); got != n {
			t.Errorf("dayAfter(%d days on) = %d", n, got)
		}
	}
}

func TestTroughOf(t *testing.T) {
	cases := []struct {
		held                string
		filled, spilt, part int
	}{{"0", 0, 0, 0}, {"50", 120, 0, 50}, {"100", 240, 0, 100}, {"100.001", 240, 1, 101}, {"115", 240, 36, 115}, {"900", 240, 60, 900}}
	for _, c := range cases {
		got := troughOf(&materialsv1.Flammables_Limit{Of: "categories 1 to 3", Held: &typev1.Quantity{Value: c.held, Unit: "L"}, Limit: &typev1.Quantity{Value: "100", Unit: "L"}})
		if got.Filled != c.filled || got.Spilt != c.spilt || got.Share != c.part || got.Of != "categories_1_to_3" {
			t.Errorf("troughOf(%s of 100) = %d, %d, %d %%; want %d, %d, %d", c.held, got.Filled, got.Spilt, got.Share, c.filled, c.spilt, c.part)
		}
	}
}
