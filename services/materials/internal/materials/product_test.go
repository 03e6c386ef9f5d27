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
	"tackfree/services/materials/internal/materials"
)

// shellac is counted in litres and sold in quarts.
func shellac() materials.Product {
	return materials.Product{ID: id.New(), Name: "Dewaxed shellac", Unit: of(decimal.Zero, "L").Unit,
		Packages: []materials.Package{{Label: "quart can", Content: decimal.RequireFromString("0.946352946")}}}
}

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

// What is there of a product is worth its share of all, and nothing where nothing is there.
func TestProduct_Worth(t *testing.T) {
	p := shellac()
	if got := p.Worth(decimal.NewFromInt(1)); got != 0 {
		t.Errorf("a litre of nothing is worth %d", got)
	}
	p.OnHand, p.Value = decimal.NewFromInt(3), 10_00
	if got := p.Worth(decimal.NewFromInt(2)); got != 6_67 {
		t.Errorf("two of three litres at 10.00 are worth %d, want 667", got)
	}
}

// One step after the other on one product, and what each says.
func TestProduct_FallsLowOnce(t *testing.T) {
	b := newBench(materials.FirstIn)
	set := func(amount string) []materials.Fact {
		facts, err := b.SetThreshold(litres(amount))
		if err != nil {
			t.Fatal(err)
		}
		return facts
	}
	receive := func(amount string) []materials.Fact {
		return b.Tell(materials.Received{Lot: b.receive(t, amount, 0)})
	}
	issue := func(amount string) []materials.Fact {
		b.issue(t, amount)
		return b.Tell()
	}
	takeBack := func(string) []materials.Fact {
		issues := b.standing()
		b.takeBack(t, issues[len(issues)-1].ID)
		return b.Tell()
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
		{takeBack, "1", "", false}, // as if it had not been
		{issue, "1", "FellLow", true},
	}
	version := b.Version
	for n, step := range steps {
		facts := step.do(step.amount)
		if got := kinds(facts); got != step.want || b.Low != step.low {
			t.Errorf("step %d of %s: %s, low %v; want %s, low %v", n, step.amount, got, b.Low, step.want, step.low)
		}
		if version += int64(len(facts)); b.Version != version {
			t.Errorf("step %d: version %d, want %d", n, b.Version, version)
		}
	}
}

// Whatever comes and goes: on hand and value are those of the lots, and FellLow is said
// exactly when Low turns true.
func TestProduct_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := newBench(materials.FirstIn)
		for range rapid.IntRange(1, 30).Draw(t, "steps") {
			wasLow, amount := b.Low, litres(decimal.New(rapid.Int64Range(1, 9000).Draw(t, "amount"), -3).String())
			var facts []materials.Fact
			switch rapid.IntRange(0, 3).Draw(t, "command") {
			case 0:
				facts, _ = b.SetThreshold(amount)
			case 1:
				facts = b.Tell(materials.Received{Lot: b.receive(t, amount.Value.String(), 7_77)})
			default:
				before := b.Product
				e, err := b.Issue(b.entry(), amount)
				if err == nil {
					_, err = b.post(e)
				}
				if err != nil {
					if amount.Value.LessThanOrEqual(b.OnHand) || b.Version != before.Version {
						t.Fatalf("%v of %v refused: %v", amount, b.OnHand, err)
					}
					continue
				}
				facts = b.Tell()
			}
			if left, cost := b.left(); !b.OnHand.Equal(left) || b.Value != cost || left.IsNegative() {
				t.Fatalf("on hand %v at %d, in the lots %v at %d", b.OnHand, b.Value, left, cost)
			}
			if said := strings.HasSuffix(kinds(facts), "FellLow"); said != (b.Low && !wasLow) || b.Low != b.OnHand.LessThan(b.Threshold) {
				t.Fatalf("%s; low %v before, %v after, %v of %v", kinds(facts), wasLow, b.Low, b.OnHand, b.Threshold)
			}
		}
	})
}
