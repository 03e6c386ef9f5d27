package materials_test

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/services/materials/internal/materials"
)

var monday = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func litre(t testing.TB) quantity.Unit {
	t.Helper()
	u, err := quantity.UnitOf("L")
	if err != nil {
		t.Fatal(err)
	}
	return u
}

func amount(s string) decimal.Decimal { return decimal.RequireFromString(s) }

// twoLines is an order of two gallons and of three quarts.
func twoLines(t testing.TB) materials.Order {
	t.Helper()
	o, facts, err := materials.PlaceOrder(materials.Order{ID: id.New(), Number: 12, Supplier: id.New(), OrderedAt: monday, ExpectedAt: monday.AddDate(0, 0, 5), Lines: []materials.OrderLine{
		{Product: id.New(), ProductName: "Dewaxed shellac", Unit: litre(t), Package: "gallon", Count: 2, Content: amount("3.785411784"), Price: 45_00},
		{Product: id.New(), ProductName: "Gel stain", Unit: litre(t), Package: "quart", Count: 3, Content: amount("0.946352946"), Price: 20_00},
	}})
	if err != nil || len(facts) != 1 || o.Version != 1 || o.State != materials.Ordered || o.Lines[1].Number != 2 || o.Total() != 150_00 {
		t.Fatalf("PlaceOrder = %+v, %v, %v", o, facts, err)
	}
	return o
}

// order brings an order into a state.
func order(t testing.TB, state materials.OrderState) materials.Order {
	t.Helper()
	o := twoLines(t)
	does := map[materials.OrderState]func() error{
		materials.Ordered:       func() error { return nil },
		materials.PartReceived:  func() error { _, err := o.Receive(1, amount("1"), monday); return err },
		materials.OrderReceived: func() error { return receiveAll(&o) },
		materials.OrderClosed:   func() error { _, err := o.Close("discontinued"); return err },
		materials.OrderCancelled: func() error {
			_, err := o.Cancel("ordered twice")
			return err
		},
	}
	if err := does[state](); err != nil || o.State != state {
		t.Fatalf("the order is %s, %v; want %s", o.State, err, state)
	}
	return o
}

func receiveAll(o *materials.Order) error {
	for _, l := range o.Lines {
		if _, err := o.Receive(l.Number, l.Open(), monday); err != nil {
			return err
		}
	}
	return nil
}

// Every pair of a state and a command, as the package comment has it.
func TestOrder_States(t *testing.T) {
	commands := map[string]func(*materials.Order) ([]materials.OrderFact, error){
		"Receive a part": func(o *materials.Order) ([]materials.OrderFact, error) { return o.Receive(2, amount("0.1"), monday) },
		"Close":          func(o *materials.Order) ([]materials.OrderFact, error) { return o.Close("discontinued") },
		"Cancel":         func(o *materials.Order) ([]materials.OrderFact, error) { return o.Cancel("ordered twice") },
	}
	for _, c := range []struct {
		from    materials.OrderState
		command string
		to      materials.OrderState // empty: refused
		reason  string
	}{
		{materials.Ordered, "Receive a part", materials.PartReceived, ""},
		{materials.Ordered, "Close", materials.OrderClosed, ""},
		{materials.Ordered, "Cancel", materials.OrderCancelled, ""},
		{materials.PartReceived, "Receive a part", materials.PartReceived, ""},
		{materials.PartReceived, "Close", materials.OrderClosed, ""},
		{materials.PartReceived, "Cancel", "", "ORDER_PART_RECEIVED"},
		{materials.OrderReceived, "Receive a part", materials.OrderReceived, ""},
		{materials.OrderReceived, "Close", "", "ORDER_RECEIVED"},
		{materials.OrderReceived, "Cancel", "", "ORDER_RECEIVED"},
		{materials.OrderClosed, "Receive a part", "", "ORDER_CLOSED"},
		{materials.OrderClosed, "Close", "", "ORDER_CLOSED"},
		{materials.OrderClosed, "Cancel", "", "ORDER_CLOSED"},
		{materials.OrderCancelled, "Receive a part", "", "ORDER_CLOSED"},
		{materials.OrderCancelled, "Close", "", "ORDER_CLOSED"},
		{materials.OrderCancelled, "Cancel", "", "ORDER_CLOSED"},
	} {
		o := order(t, c.from)
		version := o.Version
		facts, err := commands[c.command](&o)
		if c.to == "" {
			if !fault.Is(err, c.reason) || o.State != c.from || o.Version != version {
				t.Errorf("%s, %s = %v and is %s, want %s and nothing changed", c.from, c.command, err, o.State, c.reason)
			}
			continue
		}
		if err != nil || o.State != c.to || o.Version != version+1 || len(facts) != 1 || facts[0].(materials.OrderChanged).State != c.to {
			t.Errorf("%s, %s = %v, %v and is %s in version %d; want %s", c.from, c.command, facts, err, o.State, o.Version, c.to)
		}
	}
}

// The last of it makes it received, and the first of each line is remembered.
func TestOrder_Receive(t *testing.T) {
	o := twoLines(t)
	for n, c := range []struct {
		line int32
		l    string
		day  int
		want materials.OrderState
	}{
		{1, "7.5", 4, materials.PartReceived}, {2, "2.839058838", 3, materials.PartReceived}, {1, "0.070823568", 2, materials.OrderReceived},
	} {
		if _, err := o.Receive(c.line, amount(c.l), monday.AddDate(0, 0, c.day)); err != nil || o.State != c.want {
			t.Errorf("delivery %d: %v, the order is %s, want %s", n, err, o.State, c.want)
		}
	}
	if first := o.Lines[0].FirstAt; !first.Equal(monday.AddDate(0, 0, 2)) {
		t.Errorf("the first of line 1 came at %s, want the earliest time that was said", first)
	}
	if _, err := o.Receive(3, amount("1"), monday); !fault.Is(err, "ORDER_LINE_NOT_FOUND") {
		t.Errorf("a third line = %v", err)
	}
}

// What a supplier sends too much is taken in, and said.
func TestOrder_Receive_TooMuch(t *testing.T) {
	o := twoLines(t)
	facts, err := o.Receive(1, amount("8"), monday)
	if err != nil || o.State != materials.PartReceived || o.Lines[0].Open().IsPositive() {
		t.Fatalf("Receive = %v; the order is %s", err, o.State)
	}
	if said := facts[0].(materials.OrderChanged).Reason; said != "Of line 1, Dewaxed shellac, 0.429177 L more came than was ordered." {
		t.Errorf("it says %q", said)
	}
}

func TestPlaceOrder_Absurd(t *testing.T) {
	o := twoLines(t)
	o.Lines[0].Price = 900_000_000_000
	if _, _, err := materials.PlaceOrder(o); !fault.Is(err, "ORDER_ABSURD") {
		t.Errorf("PlaceOrder = %v, want ORDER_ABSURD", err)
	}
}

// It is expected by the end of a day of the shop, which is not one of UTC.
func TestExpected(t *testing.T) {
	denver, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	evening := time.Date(2026, 3, 3, 3, 0, 0, 0, time.UTC) // Monday at 20:00 there
	got, err := materials.Expected(evening, time.Time{}, 5, denver)
	if want := time.Date(2026, 3, 7, 23, 59, 59, 0, denver); err != nil || !got.Equal(want) {
		t.Errorf("Expected = %s, %v, want %s", got, err, want)
	}
	if _, err := materials.Expected(evening, time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC), 0, denver); !fault.Is(err, "EXPECTED_BEFORE_ORDERED") {
		t.Errorf("expected the day before = %v", err)
	}
	if _, err := materials.Expected(evening, time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC), 0, denver); err != nil {
		t.Errorf("expected on the same day = %v", err)
	}
}
