package planner

import (
	"math"
	"reflect"
	"runtime"
	"testing"

	"pgregory.net/rapid"
)

// One operation of log-normal length: by when it is done is the quantile exp(μ + σ·Φ⁻¹(p)), and how late it is
// beyond d in the mean E[(X−d)⁺] = m·Φ((μ+σ²−ln d)/σ) − d·Φ((μ−ln d)/σ) (Johnson, Kotz and Balakrishnan, Continuous
// Univariate Distributions 1, 1994, chapter 14: quantiles and partial expectations).
func TestOutlook_OneLogNormal(t *testing.T) {
	const mean, sigma, due, weight, runs = 10_000.0, 0.5, 12_000, 3, 20_000
	p := &Problem{Horizon: 1 << 30, Workers: []Worker{{}}, Pieces: []Piece{{Due: due, Weight: weight}}, Operations: []Operation{{Modes: []Mode{{Worker: 0, Minutes: mean}}}}}
	plan, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	o, err := Simulate(p, plan, Doubt{Operations: []float64{sigma}}, runs, 11)
	if err != nil {
		t.Fatal(err)
	}
	phi := func(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }
	mu := math.Log(mean) - sigma*sigma/2
	for chance, z := range map[float64]float64{0.1: -1.2815515655446004, 0.5: 0, 0.8: 0.8416212335729143, 0.95: 1.6448536269514722} {
		want := math.Exp(mu + sigma*z)
		density := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) / (sigma * want)
		off := 4*math.Sqrt(chance*(1-chance)/runs)/density + 1
		if got := float64(o[0].By(chance)); math.Abs(got-want) > off {
			t.Errorf("By(%v) = %v, want %v ± %v", chance, got, want, off)
		}
	}
	late := mean*phi((mu+sigma*sigma-math.Log(due))/sigma) - due*phi((mu-math.Log(due))/sigma)
	square := math.Exp(2*mu+2*sigma*sigma)*phi((mu+2*sigma*sigma-math.Log(due))/sigma) - 2*due*mean*phi((mu+sigma*sigma-math.Log(due))/sigma) + due*due*phi((mu-math.Log(due))/sigma)
	if off := weight * 4 * math.Sqrt((square-late*late)/runs); math.Abs(o[0].Tardiness-weight*late) > off {
		t.Errorf("tardiness %v, want %v ± %v", o[0].Tardiness, weight*late, off)
	}
}

// A promise of By(chance) is kept with that chance, and one a minute sooner is not.
func TestOutlook_By(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ends := rapid.SliceOfN(rapid.IntRange(0, 40), 1, 60).Draw(t, "ends")
		hundredths := rapid.IntRange(0, 100).Draw(t, "hundredths")
		o := newOutlook(ends, &Piece{Due: NoDue, Weight: 1})
		by := o.By(float64(hundredths) / 100)
		done := func(at Minute) (n int) {
			for _, end := range ends {
				if end <= at {
					n++
				}
			}
			return n
		}
		if 100*done(by) < hundredths*len(ends) {
			t.Fatalf("By(%d %%) = %d, when %d of %d are done", hundredths, by, done(by), len(ends))
		}
		if hundredths > 0 && 100*done(by-1) >= hundredths*len(ends) {
			t.Fatalf("By(%d %%) = %d, and %d of %d are done a minute sooner", hundredths, by, done(by-1), len(ends))
		}
		due := rapid.IntRange(0, 40).Draw(t, "due")
		late := 0
		for _, end := range ends {
			late += max(0, end-due)
		}
		o = newOutlook(ends, &Piece{Due: due, Weight: 2})
		if want := 2 * float64(late) / float64(len(ends)); math.Abs(o.Tardiness-want) > 1e-9 || o.Kept != float64(done(due))/float64(len(ends)) {
			t.Fatalf("due at %d: tardiness %v, want %v; kept %v of %d", due, o.Tardiness, want, o.Kept, len(ends))
		}
	})
	if by := (Outlook{}).By(0.5); by != 0 {
		t.Errorf("nothing played is done by %d", by)
	}
}

// However many cores play, the same comes of it.
func TestSimulate_OnAnyNumberOfCores(t *testing.T) {
	p := ft06()
	plan, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	d := Doubt{}
	for range p.Operations {
		d.Operations = append(d.Operations, 0.3)
	}
	var all [][]Outlook
	for _, cores := range []int{1, 2, 5} {
		was := runtime.GOMAXPROCS(cores)
		o, err := Simulate(p, plan, d, 101, 3)
		runtime.GOMAXPROCS(was)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, o)
	}
	if !reflect.DeepEqual(all[0], all[1]) || !reflect.DeepEqual(all[0], all[2]) {
		t.Error("another number of cores gives another outlook")
	}
}

// By hand: two jobs of 60 and 50 minutes in a shift that ends at 600, the next at 1920. How late the first may be for
// the second to be done in the shift still, and what then becomes of it.
func TestSimulate_EndOfTheShift(t *testing.T) {
	for name, x := range map[string]struct {
		splittable bool
		longer     float64 // the first
		second     float64 // the second
		want       Minute  // the second is done
	}{
		"in time":                     {false, 1, 1, 590},
		"late, with some overtime":    {false, 1.6, 1, 626},
		"too late to begin":           {false, 1.7, 1, 1970},
		"longer than anybody thought": {false, 1, 4, 740},
		"paused, done in overtime":    {true, 1.6, 1, 626},
		"paused until the next shift": {true, 1.7, 1, 1920 + 32},
		"paused for long":             {true, 1, 4, 1920 + 140},
	} {
		p := &Problem{Horizon: 3000, Workers: []Worker{{"w", Calendar{{480, 600}, {1920, 2040}, {2800, 2900}}}}, Pieces: []Piece{{"p", 0, NoDue, 1}, {"q", 0, NoDue, 1}},
			Operations: []Operation{{Modes: []Mode{{Worker: 0, Minutes: 60}}}, {Piece: 1, Modes: []Mode{{Worker: 0, Minutes: 50}}, Splittable: x.splittable}}}
		c, err := compile(p)
		if err != nil {
			t.Fatal(err)
		}
		play := newPlayer(newReplay(c, &Plan{Slots: []Slot{{0, NoStation, 480, 540}, {0, NoStation, 540, 590}}}, Doubt{}))
		play.longer[0] = []float64{x.longer, x.second}
		if got := play.run()[1]; got != x.want {
			t.Errorf("%s: done at %d, want %d", name, got, x.want)
		}
	}
}

// Begun a shift sooner than planned, as what it waited for took less, something pauses over the break all the same.
func TestSimulate_SoonerThanPlanned(t *testing.T) {
	p := &Problem{Horizon: 3000, Workers: []Worker{{"w", Calendar{{480, 600}, {630, 800}}}}, Pieces: []Piece{{"p", 0, NoDue, 1}, {"q", 0, NoDue, 1}},
		Operations: []Operation{{Modes: []Mode{{Worker: 0, Minutes: 120}}}, {Piece: 1, Modes: []Mode{{Worker: 0, Minutes: 100}}, Splittable: true}}}
	c, err := compile(p)
	if err != nil {
		t.Fatal(err)
	}
	play := newPlayer(newReplay(c, &Plan{Slots: []Slot{{0, NoStation, 480, 600}, {0, NoStation, 630, 730}}}, Doubt{}))
	play.longer[0] = []float64{0.5, 1}
	if got := play.run()[1]; got != 670 {
		t.Errorf("done at %d, want 670: 60 minutes from 540 on and 40 from 630 on", got)
	}
}
