package materials_test

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/services/materials/internal/materials"
)

// A delivery of an order was a slip: it is expected again, unless as much has come without it.
func TestOrder_Unreceive(t *testing.T) {
	day := func(n int) time.Time { return start.AddDate(0, 0, n) }
	for name, c := range map[string]struct {
		came, slip string
		first      time.Time
		want       materials.OrderState
	}{
		"AllOfIt":  {"4", "4", time.Time{}, materials.Ordered},
		"APart":    {"4", "1", day(2), materials.PartReceived},
		"TooMuch":  {"8", "4", day(2), materials.OrderReceived},
		"ThePart":  {"1", "1", time.Time{}, materials.Ordered},
		"TypedOff": {"1", "3", time.Time{}, materials.Ordered},
	} {
		t.Run(name, func(t *testing.T) {
			o, _, err := materials.PlaceOrder(materials.Order{OrderedAt: day(0), Lines: []materials.OrderLine{{Package: "can", Count: 4, Content: decimal.NewFromInt(1), Price: 5_00}}})
			if err != nil {
				t.Fatal(err)
			}
			if _, err := o.Receive(1, decimal.RequireFromString(c.came), day(1)); err != nil {
				t.Fatal(err)
			}
			version := o.Version
			if facts := o.Unreceive(1, decimal.RequireFromString(c.slip), c.first); len(facts) != 1 || o.Version != version+1 {
				t.Errorf("%d facts to version %d", len(facts), o.Version)
			}
			if l := o.Lines[0]; o.State != c.want || !l.FirstAt.Equal(c.first) || l.Received.IsNegative() {
				t.Errorf("%s with %s since %v, want %s since %v", o.State, l.Received, l.FirstAt, c.want, c.first)
			}
		})
	}
	closed, _, _ := materials.PlaceOrder(materials.Order{Lines: []materials.OrderLine{{Package: "can", Count: 4, Content: decimal.NewFromInt(1)}}})
	if _, err := closed.Receive(1, decimal.NewFromInt(2), day(1)); err != nil {
		t.Fatal(err)
	}
	if _, err := closed.Close("no more of it"); err != nil {
		t.Fatal(err)
	}
	if closed.Unreceive(1, decimal.NewFromInt(2), time.Time{}); closed.State != materials.OrderClosed {
		t.Errorf("what was closed is %s", closed.State)
	}
}
