package materials_test

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/services/materials/internal/materials"
)

func TestCounted(t *testing.T) {
	unit := of(decimal.Zero, "L").Unit
	if q, err := materials.Counted("quantity", of(decimal.NewFromInt(2), "floz"), unit); err != nil || q.String() != "0.059147059125 L" {
		t.Errorf("Counted(2 floz) = %v, %v", q, err)
	}
	if _, err := materials.Counted("quantity", litres("1000000"), unit); err != nil {
		t.Errorf("Counted(1000000 L) = %v", err)
	}
	for amount, reason := range map[quantity.Quantity]string{
		of(decimal.NewFromInt(2), "kg"): "UNIT_OF_ANOTHER_MEASURE", litres("1000000.000001"): "QUANTITY_ABSURD",
		of(decimal.NewFromInt(264173), "gal"): "QUANTITY_ABSURD",
	} {
		if _, err := materials.Counted("packages[2].content", amount, unit); !fault.Is(err, reason) || fault.Of(err).Fields[0].Path != "packages[2].content" {
			t.Errorf("Counted(%v) = %v, want %s at its field", amount, err, reason)
		}
	}
}

// Sentences show at most six decimals, and numbers that say the same as the words.
func TestDraw_StockTooSmall_Says(t *testing.T) {
	cases := map[string]struct{ left, asked, want string }{
		"Plain":        {"0.8", "0.841", "0.841 L is more than the 0.8 L that is left;"},
		"TwoFluidOz":   {"0.05", "0.059147059125", "0.059148 L is more than the 0.05 L that is left;"},
		"LongLeft":     {"0.0295735295625", "0.03", "0.03 L is more than the 0.029573 L that is left;"},
		"AHairMore":    {"0.8", "0.80000000001", "0.800001 L is more than the 0.8 L that is left;"},
		"ATrace":       {"0.0000009", "1", "1 L is more than what is left, which is less than 0.000001 L;"},
		"JustShowable": {"0.000001", "1", "1 L is more than the 0.000001 L that is left;"},
		"Nothing":      {"0", "1", "1 L is more than the 0 L that is left;"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			lot := materials.Lot{Quantity: decimal.NewFromInt(1), Left: decimal.RequireFromString(c.left)}
			_, err := materials.Draw([]materials.Lot{lot}, litres(c.asked))
			f := fault.Of(err)
			if f == nil || !strings.HasPrefix(f.Text, c.want) {
				t.Fatalf("Draw = %v, want %q", err, c.want)
			}
			if f.Meta["left"] != c.left+" L" {
				t.Errorf("for programs %q is left, want all of %s L", f.Meta["left"], c.left)
			}
		})
	}
}

func TestCounted_SaysNoMoreThanSixDecimals(t *testing.T) {
	_, err := materials.Counted("quantity", litres("1000000.00000000001"), litres("1").Unit)
	if f := fault.Of(err); f == nil || !strings.HasPrefix(f.Text, "quantity is 1000000.000001 L, more than 1000000 L in one go;") {
		t.Errorf("Counted = %v", err)
	}
}

// A trace cannot be taken, unless it is all that is left.
func TestProduct_Issue_ATrace(t *testing.T) {
	p := shellac()
	lot, _, err := p.Receive(materials.Delivery{Lot: id.New(), Amount: litres("0.0000015"), Cost: 1_00, At: start})
	if err != nil {
		t.Fatal(err)
	}
	issue := func(amount string, lot materials.Lot) (materials.Issue, error) {
		i, _, err := p.Issue(&materials.Piece{}, materials.Issue{}, litres(amount), []materials.Lot{lot})
		return i, err
	}
	for _, amount := range []string{"0.0000009", "0.0000000001"} {
		if _, err := issue(amount, lot); !fault.Is(err, "QUANTITY_ABSURD") || fault.Of(err).Fields[0].Path != "quantity" {
			t.Errorf("Issue(%s) = %v, want QUANTITY_ABSURD", amount, err)
		}
	}
	first, err := issue("0.000001", lot)
	if err != nil {
		t.Fatal(err)
	}
	for _, amount := range []string{"0.0000004", "0.0000006"} {
		if _, err := issue(amount, first.Draws[0].Lot); !fault.Is(err, "QUANTITY_ABSURD") {
			t.Errorf("Issue(%s) of the last 0.0000005 = %v, want QUANTITY_ABSURD", amount, err)
		}
	}
	if rest, err := issue("0.0000005", first.Draws[0].Lot); err != nil || !p.OnHand.IsZero() || first.Cost+rest.Cost != 1_00 {
		t.Errorf("Issue of all that is left = %v, %v, leaves %v", rest.Cost, err, p.OnHand)
	}
}

// The smallest amount is judged in the product's own unit.
func TestProduct_Receive_Least(t *testing.T) {
	for amount, ok := range map[quantity.Quantity]bool{
		litres("0.000001"): true, litres("0.00000099"): false,
		of(decimal.RequireFromString("0.001"), "mL"): true, of(decimal.RequireFromString("0.00099"), "mL"): false,
	} {
		p := shellac()
		if _, _, err := p.Receive(materials.Delivery{Lot: id.New(), Amount: amount, At: start}); ok != (err == nil) || !ok && !fault.Is(err, "QUANTITY_ABSURD") {
			t.Errorf("Receive(%v) = %v", amount, err)
		}
	}
}
