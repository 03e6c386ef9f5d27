package materials_test

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
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
		_, err := materials.Counted("packages[2].content", amount, unit)
		wantFault(t, err, reason, "packages[2].content")
	}
}

// Sentences show at most six decimals, and numbers that say the same as the words.
func TestShelf_StockTooSmall_Says(t *testing.T) {
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
			p := shellac()
			p.OnHand = lot.Left
			e, err := p.Issue(materials.Entry{}, litres(c.asked))
			if err != nil {
				t.Fatal(err)
			}
			f := fault.Of(materials.OpenShelf(p, materials.FirstIn, []materials.Lot{lot}).Post(e))
			if f == nil || !strings.HasPrefix(f.Text, c.want) {
				t.Fatalf("Post = %v, want %q", f, c.want)
			}
			if f.Meta["left"] != c.left+" L" {
				t.Errorf("for programs %q is left, want all of %s L", f.Meta["left"], c.left)
			}
		})
	}
}

func TestCounted_SaysNoMoreThanSixDecimals(t *testing.T) {
	_, err := materials.Counted("quantity", litres("1000000.00000000001"), litres("1").Unit)
	if f := fault.Of(err); f == nil || !strings.HasPrefix(f.Text, "The quantity is 1000000.000001 L, more than 1000000 L in one go;") {
		t.Errorf("Counted = %v", err)
	}
}

// A trace cannot be taken, unless it is all that is left.
func TestProduct_Issue_ATrace(t *testing.T) {
	b := newBench(materials.FirstIn)
	b.receive(t, "0.0000015", 1_00)
	refused := func(amounts ...string) {
		for _, amount := range amounts {
			_, err := b.Issue(b.entry(), litres(amount))
			wantFault(t, err, "QUANTITY_ABSURD", "quantity")
		}
	}
	refused("0.0000009", "0.0000000001")
	first := b.issue(t, "0.000001")
	refused("0.0000004", "0.0000006")
	if rest := b.issue(t, "0.0000005"); !b.OnHand.IsZero() || first.Cost()+rest.Cost() != 1_00 {
		t.Errorf("all that is left cost %d after %d, and leaves %v", rest.Cost(), first.Cost(), b.OnHand)
	}
}

// The smallest amount is judged in the product's own unit.
func TestProduct_Receive_Least(t *testing.T) {
	for amount, ok := range map[quantity.Quantity]bool{
		litres("0.000001"): true, litres("0.00000099"): false,
		of(decimal.RequireFromString("0.001"), "mL"): true, of(decimal.RequireFromString("0.00099"), "mL"): false,
	} {
		_, err := shellac().Receive("", materials.Entry{At: start}, materials.Packed{Quantity: amount})
		if ok != (err == nil) || !ok && !fault.Is(err, "QUANTITY_ABSURD") {
			t.Errorf("Receive(%v) = %v", amount, err)
		}
	}
}
