package materials_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/services/materials/internal/materials"
)

// shellac is counted in litres and sold in quarts.
func shellac() materials.Product {
	return materials.Product{ID: id.New(), Name: "Dewaxed shellac", Unit: of(decimal.Zero, "L").Unit,
		Packages: []materials.Package{{Label: "quart can", Content: decimal.RequireFromString("0.946352946")}}}
}

func litres(s string) quantity.Quantity { return of(decimal.RequireFromString(s), "L") }

// kinds writes facts as "Received FellLow".
func kinds(facts []materials.Fact) string {
	var names []string
	for _, f := range facts {
		names = append(names, strings.TrimPrefix(fmt.Sprintf("%T", f), "materials."))
	}
	return strings.Join(names, " ")
}

func TestAdd(t *testing.T) {
	got, facts, err := materials.Add(shellac())
	if err != nil || got.Version != 1 || got.Low || kinds(facts) != "Added" {
		t.Errorf("Add = %+v, %s, %v", got, kinds(facts), err)
	}
}

// There is none of a new product, so with a threshold it is low from the start.
func TestAdd_WithAThreshold(t *testing.T) {
	p := shellac()
	p.Threshold = decimal.NewFromInt(2)
	got, facts, err := materials.Add(p)
	if err != nil || got.Version != 3 || !got.Low || kinds(facts) != "Added ThresholdSet FellLow" {
		t.Errorf("Add = %+v, %s, %v", got, kinds(facts), err)
	}
}

func TestAdd_Refuses(t *testing.T) {
	cases := map[string]struct {
		change        func(*materials.Product)
		reason, field string
	}{
		"LabelTwice": {func(p *materials.Product) {
			p.Packages = append(p.Packages, materials.Package{Label: "Quart Can", Content: decimal.NewFromInt(1)})
		}, "PACKAGE_LABEL_TWICE", "packages[1].label"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			p := shellac()
			c.change(&p)
			_, facts, err := materials.Add(p)
			if f := fault.Of(err); f == nil || f.Reason != c.reason || f.Fields[0].Path != c.field || facts != nil {
				t.Errorf("Add = %s, %v, want %s at %s", kinds(facts), err, c.reason, c.field)
			}
		})
	}
}

func TestProduct_Receive(t *testing.T) {
	p := shellac()
	lot, facts, err := p.Receive(materials.Delivery{Lot: id.New(), Label: "QUART can", Count: 4, Cost: 92_00, Supplier: "paint store", At: start})
	if err != nil || kinds(facts) != "Received" {
		t.Fatalf("Receive = %s, %v", kinds(facts), err)
	}
	if want := "3.785411784"; lot.Quantity.String() != want || lot.Left.String() != want || p.OnHand.String() != want {
		t.Errorf("four quarts: received %v, left %v, on hand %v, want %s", lot.Quantity, lot.Left, p.OnHand, want)
	}
	if lot.Cost != 92_00 || lot.CostLeft != 92_00 || p.Value != 92_00 || p.Version != 1 {
		t.Errorf("lot %+v of product %+v", lot, p)
	}
}

func TestProduct_Receive_Refuses(t *testing.T) {
	cases := map[string]struct {
		delivery      materials.Delivery
		reason, field string
	}{
		"UnknownPackage": {materials.Delivery{Label: "drum", Count: 1}, "PACKAGE_UNKNOWN", "packages.label"},
		"Grams":          {materials.Delivery{Amount: of(decimal.NewFromInt(1), "g")}, "UNIT_OF_ANOTHER_MEASURE", "quantity"},
		"ALake":          {materials.Delivery{Amount: litres("1000001")}, "QUANTITY_ABSURD", "quantity"},
		"ATrace":         {materials.Delivery{Amount: litres("0.0000009999")}, "QUANTITY_ABSURD", "quantity"},
		"ALakeInCans":    {materials.Delivery{Label: "quart can", Count: 1_100_000}, "QUANTITY_ABSURD", "packages.count"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			p := shellac()
			_, facts, err := p.Receive(c.delivery)
			if f := fault.Of(err); f == nil || f.Reason != c.reason || f.Fields[0].Path != c.field || facts != nil {
				t.Errorf("Receive = %v, want %s at %s", err, c.reason, c.field)
			}
			if !p.OnHand.IsZero() || p.Value != 0 || p.Version != 0 {
				t.Errorf("refused, but left %+v", p)
			}
		})
	}
}

func TestProduct_Receive_NoPackagesAtAll(t *testing.T) {
	p := shellac()
	p.Packages = nil
	if _, _, err := p.Receive(materials.Delivery{Label: "quart can", Count: 1}); !fault.Is(err, "PACKAGE_UNKNOWN") {
		t.Errorf("Receive = %v, want PACKAGE_UNKNOWN", err)
	}
}

func TestProduct_Issue_Refuses(t *testing.T) {
	p := shellac()
	lot, _, _ := p.Receive(materials.Delivery{Lot: id.New(), Amount: litres("1"), Cost: 20_00, At: start})
	before, piece := p, materials.Piece{ID: id.New(), Version: 3}
	scrapped := materials.Issue{Stage: materials.Stage{Scrapped: true}}
	if _, _, err := p.Issue(&piece, scrapped, litres("0.1"), []materials.Lot{lot}); !fault.Is(err, "PIECE_SCRAPPED") {
		t.Errorf("Issue to a scrapped piece = %v", err)
	}
	if _, _, err := p.Issue(&piece, materials.Issue{}, litres("1.1"), []materials.Lot{lot}); !fault.Is(err, "STOCK_TOO_SMALL") {
		t.Errorf("Issue of too much = %v", err)
	}
	if _, _, err := p.Issue(&piece, materials.Issue{}, of(decimal.NewFromInt(1), "each"), []materials.Lot{lot}); !fault.Is(err, "UNIT_OF_ANOTHER_MEASURE") {
		t.Errorf("Issue of pieces = %v", err)
	}
	if !p.OnHand.Equal(before.OnHand) || p.Value != before.Value || p.Version != before.Version || piece.Version != 3 {
		t.Errorf("refused, but left %+v and %+v", p, piece)
	}
}

// What happens at the moment a stage is sent back is of the pass that begins with it.
func TestPassAt(t *testing.T) {
	noon, four := start.Add(3*time.Hour), start.Add(7*time.Hour)
	cases := map[string]struct {
		sentBack []time.Time
		at       time.Time
		want     int32
	}{
		"NeverSentBack": {nil, noon, 1},
		"Before":        {[]time.Time{noon, four}, noon.Add(-time.Millisecond), 1},
		"AtTheFirst":    {[]time.Time{noon, four}, noon, 2},
		"Between":       {[]time.Time{noon, four}, four.Add(-time.Millisecond), 2},
		"AfterAll":      {[]time.Time{noon, four}, four.Add(time.Hour), 3},
	}
	for name, c := range cases {
		if got := materials.PassAt(c.sentBack, c.at); got != c.want {
			t.Errorf("%s: PassAt(%v, %v) = %d, want %d", name, c.sentBack, c.at, got, c.want)
		}
	}
}

// One step after the other on one product, and what each says.
func TestProduct_FallsLowOnce(t *testing.T) {
	p := shellac()
	var s shelf
	set := func(amount string) []materials.Fact {
		facts, err := p.SetThreshold(litres(amount))
		if err != nil {
			t.Fatal(err)
		}
		return facts
	}
	receive := func(amount string) []materials.Fact {
		lot, facts, err := p.Receive(materials.Delivery{Lot: id.New(), Amount: litres(amount), At: start})
		if err != nil {
			t.Fatal(err)
		}
		s = append(s, lot)
		return facts
	}
	issue := func(amount string) []materials.Fact {
		_, facts, err := p.Issue(&materials.Piece{}, materials.Issue{}, litres(amount), s)
		if err != nil {
			t.Fatal(err)
		}
		s.take(t, decimal.RequireFromString(amount), "L")
		return facts
	}
	steps := []struct {
		do     func(string) []materials.Fact
		amount string
		want   string
		low    bool
	}{
		{receive, "10", "Received", false},
		{set, "4", "ThresholdSet", false},
		{issue, "6", "", false}, // 4 left: not below
		{issue, "0.001", "FellLow", true},
		{issue, "1", "", true},
		{set, "5", "ThresholdSet", true}, // still low: said already
		{set, "2.999", "ThresholdSet", false},
		{set, "3", "ThresholdSet FellLow", true},
		{set, "0", "ThresholdSet", false}, // taken away
		{set, "3", "ThresholdSet FellLow", true},
		{receive, "0.0005", "Received", true}, // not enough
		{receive, "1", "Received", false},
		{issue, "1", "FellLow", true},
	}
	version := p.Version
	for n, step := range steps {
		facts := step.do(step.amount)
		if got := kinds(facts); got != step.want || p.Low != step.low {
			t.Errorf("step %d of %s: %s, low %v; want %s, low %v", n, step.amount, got, p.Low, step.want, step.low)
		}
		if version += int64(len(facts)); p.Version != version {
			t.Errorf("step %d: version %d, want %d", n, p.Version, version)
		}
	}
}

// Whatever comes and goes: on hand and value are those of the lots, and FellLow is said
// exactly when Low turns true.
func TestProduct_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, s := shellac(), shelf{}
		for range rapid.IntRange(1, 30).Draw(t, "steps") {
			wasLow, amount := p.Low, litres(decimal.New(rapid.Int64Range(1, 9000).Draw(t, "amount"), -3).String())
			var facts []materials.Fact
			switch rapid.IntRange(0, 3).Draw(t, "command") {
			case 0:
				facts, _ = p.SetThreshold(amount)
			case 1:
				var lot materials.Lot
				lot, facts, _ = p.Receive(materials.Delivery{Lot: id.New(), Amount: amount, Cost: 7_77, At: start})
				s = append(s, lot)
			default:
				var err error
				before := p
				if _, facts, err = p.Issue(&materials.Piece{}, materials.Issue{}, amount, s); err != nil {
					if amount.Value.LessThanOrEqual(p.OnHand) || p.Version != before.Version {
						t.Fatalf("%v of %v refused: %v", amount, p.OnHand, err)
					}
					continue
				}
				s.take(t, amount.Value, "L")
			}
			if left, cost := s.left(); !p.OnHand.Equal(left) || p.Value != cost || left.IsNegative() {
				t.Fatalf("on hand %v at %d, in the lots %v at %d", p.OnHand, p.Value, left, cost)
			}
			if said := strings.HasSuffix(kinds(facts), "FellLow"); said != (p.Low && !wasLow) || p.Low != p.OnHand.LessThan(p.Threshold) {
				t.Fatalf("%s; low %v before, %v after, %v of %v", kinds(facts), wasLow, p.Low, p.OnHand, p.Threshold)
			}
		}
	})
}
