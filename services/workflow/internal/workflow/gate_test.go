package workflow_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

var top, body = id.New(), id.New()

// stageOn is a stage of a kind on the part top, the part case or, with id.Nil, the piece.
func stageOn(part id.ID, kind finish.Kind) workflow.Stage {
	s := workflow.Stage{Part: part, Key: string(kind), Kind: string(kind)}
	s.PartLabel = map[id.ID]string{top: "top", body: "case"}[part]
	return s
}

// wet is what is ready in turn for sanding, another coat and all else, so many hours after nine.
func wet(part id.ID, film bool, sand, recoat, cured int) workflow.Wet {
	at := func(hours int) time.Time { return nine.Add(time.Duration(hours) * time.Hour) }
	return workflow.Wet{Part: part, Film: film, SandAt: at(sand), RecoatAt: at(recoat), CuredAt: at(cured)}
}

func reason(err error) string { return fault.Reason(err) }

// Whatever a plan leaves out, nobody coats or sands a film that is still wet; what takes it off
// need not wait, nor what does not touch it.
func TestGround_WetFilmsHoldWhatWouldSpoilThem(t *testing.T) {
	g := workflow.Ground{Wet: []workflow.Wet{wet(top, true, 2, 4, 72)}, Tests: []workflow.PartTest{{Kind: workflow.LeadTest, Result: workflow.LeadFree}}}
	for kind, hours := range map[finish.Kind]int{finish.TopcoatCoat: 4, finish.PaintCoat: 4, finish.ScuffSand: 2, "hand_sanding": 2, finish.HardwareOn: 72,
		finish.Strip: 0, "photograph": 0} {
		s := stageOn(top, kind)
		ready := nine.Add(time.Duration(hours) * time.Hour)
		if _, err := g.MayStart(s, ready, ""); err != nil {
			t.Errorf("%s when the film can take it = %v", kind, err)
		}
		if _, err := g.MayStart(s, ready.Add(-time.Hour), ""); hours > 0 && reason(err) != "PART_NOT_READY" {
			t.Errorf("%s an hour before = %v, want PART_NOT_READY", kind, err)
		}
	}
}

// A stage waits for the last of what dries where it works: for films as far as it needs
// them, for wet wood and glue always.
func TestGround_WaitsForTheLastOfWhatDries(t *testing.T) {
	film, wood, other, whole := wet(top, true, 2, 4, 72), wet(top, false, 6, 6, 6), wet(body, true, 8, 9, 90), wet(id.Nil, false, 5, 5, 5)
	for _, c := range []struct {
		name  string
		part  id.ID
		needs finish.Needs
		wet   []workflow.Wet
		hours int // after nine, from when on it can start
	}{
		{"Nothing", top, finish.NeedsCured, nil, 0},
		{"ToSand", top, finish.NeedsSand, []workflow.Wet{film}, 2},
		{"ToRecoat", top, finish.NeedsRecoat, []workflow.Wet{film}, 4},
		{"ToHandle", top, finish.NeedsCured, []workflow.Wet{film}, 72},
		{"NothingOfFilms", top, finish.NeedsNothing, []workflow.Wet{film}, 0},
		{"WoodAlways", top, finish.NeedsNothing, []workflow.Wet{film, wood}, 6},
		{"TheLastOfSeveral", top, finish.NeedsRecoat, []workflow.Wet{wood, film}, 6},
		{"NotAnotherPart", top, finish.NeedsRecoat, []workflow.Wet{film, other}, 4},
		{"TheWholePieceIsOnThePart", top, finish.NeedsSand, []workflow.Wet{film, whole}, 5},
		{"ThePartsAreOfThePiece", id.Nil, finish.NeedsRecoat, []workflow.Wet{film, other}, 9},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stageOn(c.part, "look")
			s.Needs = c.needs
			g, ready := workflow.Ground{Wet: c.wet}, nine.Add(time.Duration(c.hours)*time.Hour)
			if _, err := g.MayStart(s, ready, ""); err != nil {
				t.Errorf("MayStart when it is ready = %v", err)
			}
			if c.hours == 0 {
				return
			}
			if _, err := g.MayStart(s, ready.Add(-time.Minute), ""); reason(err) != "PART_NOT_READY" {
				t.Errorf("MayStart a minute sooner = %v, want PART_NOT_READY", err)
			}
		})
	}
}

// The refusal says when, in the zone of who asks, or that in this air it never will be.
func TestGround_SaysWhenItIsReady(t *testing.T) {
	chicago := time.FixedZone("CST", -6*3600)
	s := stageOn(top, finish.TopcoatCoat)
	s.Needs = finish.NeedsRecoat
	_, err := workflow.Ground{Wet: []workflow.Wet{wet(top, true, 1, 5, 9)}}.MayStart(s, nine.In(chicago), "")
	refusedWords(t, err, "PART_NOT_READY", "topcoat_coat (top)", "the part top", "Mon 2 Mar 2026 13:00 CST", "say why")
	if got := fault.Of(err).Meta["ready_time"]; got != "2026-03-02T19:00:00Z" {
		t.Errorf("ready_time = %q", got)
	}
	never := wet(top, true, 1, 5, 9)
	never.RecoatAt = time.Time{}
	_, err = workflow.Ground{Wet: []workflow.Wet{never, wet(top, true, 1, 5, 9)}}.MayStart(s, nine.AddDate(1, 0, 0), "")
	refusedWords(t, err, "PART_NOT_READY", "never", "carry it elsewhere")
	look := stageOn(top, finish.Inspect)
	look.Needs = finish.NeedsRecoat
	for _, w := range []workflow.Wet{wet(top, true, 1, 5, 9), never} {
		_, err = workflow.Ground{Wet: []workflow.Wet{w}}.MayStart(look, nine, "")
		refusedWords(t, err, "PART_NOT_READY", "clock on at it and say why", "recorded as failed now")
	}
	s.Needs = finish.NeedsSand
	if _, err = (workflow.Ground{Wet: []workflow.Wet{never}}).MayStart(s, nine.Add(time.Hour), ""); err != nil {
		t.Errorf("a stage that needs less of it = %v", err)
	}
}

func metered(part id.ID, percent float64, dry bool) workflow.PartTest {
	return workflow.PartTest{Part: part, Kind: workflow.MoistureTest, Percent: percent, AtRest: 9, Dry: dry}
}

// Wood that the last test found wet is neither sanded nor coated, while it is bare.
func TestGround_WoodTooWet(t *testing.T) {
	film := wet(top, true, -9, -9, -9)
	for _, c := range []struct {
		name  string
		stage workflow.Stage
		tests []workflow.PartTest // newest first
		wet   []workflow.Wet
		want  string
	}{
		{"Sand", stageOn(top, finish.Sand), []workflow.PartTest{metered(top, 14, false)}, nil, "WOOD_TOO_WET"},
		{"ScuffSand", stageOn(top, finish.ScuffSand), []workflow.PartTest{metered(top, 14, false)}, nil, "WOOD_TOO_WET"},
		{"SandingOfAnyName", stageOn(top, "hand_sanding"), []workflow.PartTest{metered(top, 14, false)}, nil, "WOOD_TOO_WET"},
		{"Stain", stageOn(top, finish.StainCoat), []workflow.PartTest{metered(top, 14, false)}, nil, "WOOD_TOO_WET"},
		{"Strip", stageOn(top, finish.Strip), []workflow.PartTest{metered(top, 14, false)}, nil, ""},
		{"NeverMeasured", stageOn(top, finish.Sand), nil, nil, ""},
		{"DrySince", stageOn(top, finish.Sand), []workflow.PartTest{metered(top, 10, true), metered(id.Nil, 14, false)}, nil, ""},
		{"WetSince", stageOn(top, finish.Sand), []workflow.PartTest{metered(id.Nil, 14, false), metered(top, 10, true)}, nil, "WOOD_TOO_WET"},
		{"AnotherPart", stageOn(top, finish.Sand), []workflow.PartTest{metered(body, 14, false)}, nil, ""},
		{"AnyPartOfThePiece", stageOn(id.Nil, finish.Sand), []workflow.PartTest{metered(top, 10, true), metered(body, 14, false)}, nil, "WOOD_TOO_WET"},
		{"ThePieceWasDrySince", stageOn(id.Nil, finish.Sand), []workflow.PartTest{metered(id.Nil, 10, true), metered(body, 14, false)}, nil, ""},
		{"UnderAFilm", stageOn(top, finish.Sand), []workflow.PartTest{metered(top, 14, false)}, []workflow.Wet{film}, ""},
		{"AFilmElsewhere", stageOn(body, finish.Sand), []workflow.PartTest{metered(body, 14, false)}, []workflow.Wet{film}, "WOOD_TOO_WET"},
	} {
		g := workflow.Ground{Tests: c.tests, Wet: c.wet}
		if _, err := g.MayStart(c.stage, nine, ""); reason(err) != c.want {
			t.Errorf("%s: MayStart = %v, want %q", c.name, err, c.want)
		}
	}
	meter := metered(top, 14.5, false)
	_, err := workflow.Ground{Tests: []workflow.PartTest{meter}}.MayStart(stageOn(top, finish.Sand), nine, "")
	refusedWords(t, err, "WOOD_TOO_WET", "14.5 %", "11.0 %", "two points above the 9.0 %", "the air where it stood", "Measure again")
	meter.AtRest = 0
	_, err = workflow.Ground{Tests: []workflow.PartTest{meter}}.MayStart(stageOn(top, finish.Sand), nine, "")
	refusedWords(t, err, "WOOD_TOO_WET", "14.5 %", "12.0 %", "nobody read the air in the four hours before")
}

// reading is the air of a zone, so many minutes before nine.
func reading(t *testing.T, celsius, humidity, surface float64, minutes int) *workflow.Air {
	t.Helper()
	air, err := climate.NewAir(celsius, humidity)
	if err != nil {
		t.Fatal(err)
	}
	return &workflow.Air{At: nine.Add(-time.Duration(minutes) * time.Minute), Air: air, Surface: surface}
}

// A coat is laid in air that it can stand, if somebody read the air within four hours
// (MIL-HDBK-1110, paragraph 9.6.6).
func TestGround_UnfitForCoating(t *testing.T) {
	coat := stageOn(top, finish.TopcoatCoat)
	coat.Coating = &workflow.Coating{}
	hardy := stageOn(top, finish.TopcoatCoat)
	hardy.Coating = &workflow.Coating{Limits: climate.Limits{MinCelsius: 2, MaxCelsius: 40, MaxHumidity: 95, Spread: 1}}
	for _, c := range []struct {
		name  string
		stage workflow.Stage
		air   *workflow.Air
		want  string
	}{
		{"Fit", coat, reading(t, 20, 50, 20, 0), ""},
		{"Cold", coat, reading(t, 8, 50, 8, 0), "UNFIT_FOR_COATING"},
		{"Humid", coat, reading(t, 20, 90, 24, 0), "UNFIT_FOR_COATING"},
		{"ColdSurface", coat, reading(t, 20, 60, 14, 0), "UNFIT_FOR_COATING"}, // the dew point is 12.0 °C
		{"FourHoursOld", coat, reading(t, 8, 50, 8, 240), "UNFIT_FOR_COATING"},
		{"Older", coat, reading(t, 8, 50, 8, 241), ""},
		{"NobodyReadIt", coat, nil, ""},
		{"ItsOwnLimits", hardy, reading(t, 8, 50, 8, 0), ""},
		{"NoCoat", stageOn(top, finish.Sand), reading(t, 8, 50, 8, 0), ""},
	} {
		if _, err := (workflow.Ground{Air: c.air}).MayStart(c.stage, nine, ""); reason(err) != c.want {
			t.Errorf("%s: MayStart = %v, want %q", c.name, err, c.want)
		}
	}
	_, err := workflow.Ground{Air: reading(t, 8, 90, 8, 30)}.MayStart(coat, nine, "")
	refusedWords(t, err, "UNFIT_FOR_COATING", "13:30", "the air is at 8.0 °C and must be at least 10.0 °C", "90 % relative humidity", "read it again")
	broken := coat
	broken.Coating = &workflow.Coating{Limits: climate.Limits{MinCelsius: 30, MaxCelsius: 10, MaxHumidity: 85}}
	if _, err := (workflow.Ground{Air: reading(t, 20, 50, 20, 0)}).MayStart(broken, nine, "all the same"); reason(err) != "OUT_OF_RANGE" {
		t.Errorf("limits that leave nothing = %v, want OUT_OF_RANGE", err)
	}
}

// A reason overrides all but what has to do with lead, and what was overridden is named.
func TestGround_Override(t *testing.T) {
	s := stageOn(top, finish.TopcoatCoat)
	s.Needs, s.Coating = finish.NeedsRecoat, &workflow.Coating{}
	g := workflow.Ground{Wet: []workflow.Wet{wet(body, true, 1, 1, 1), wet(top, false, 1, 1, 1)}, Tests: []workflow.PartTest{metered(top, 20, false)},
		Air: reading(t, 8, 50, 8, 0)}
	got, err := g.MayStart(s, nine, "the client fetches it today")
	if want := []string{"PART_NOT_READY", "WOOD_TOO_WET", "UNFIT_FOR_COATING"}; err != nil || !slices.Equal(got, want) {
		t.Errorf("MayStart = %v, %v, want %v", got, err, want)
	}
	if err := g.MayBeDone(s); err != nil {
		t.Errorf("what was asked when it began is asked again: %v", err)
	}
	if got, err = (workflow.Ground{}).MayStart(s, nine, "the client fetches it today"); err != nil || got != nil {
		t.Errorf("with nothing in the way MayStart = %v, %v", got, err)
	}
	if _, err = g.MayStart(s, nine, "  "); reason(err) != "PART_NOT_READY" {
		t.Errorf("for no reason MayStart = %v", err)
	}
	s.DisturbsOld = true
	for _, tests := range [][]workflow.PartTest{nil, {leadTest(top, workflow.LeadFound)}} {
		g.Tests = tests
		if got, err := g.MayStart(s, nine, "the client fetches it today"); err == nil {
			t.Errorf("lead was overridden: %v", got)
		}
	}
}

func TestClockOn_Override(t *testing.T) {
	f := facts()
	f.Stage.Part, f.Stage.Needs = top, finish.NeedsNothing
	on := start(nine)
	on.Override = "the client fetches it today"
	if done, err := workflow.ClockOn(f, on); err != nil || done.Override != "" || done.Overridden != nil {
		t.Errorf("with nothing to override ClockOn = %+v, %v", done, err)
	}
	f.Ground.Wet = []workflow.Wet{wet(top, false, 1, 1, 1)}
	done, err := workflow.ClockOn(f, on)
	if err != nil || done.Override != on.Override || !slices.Equal(done.Overridden, []string{"PART_NOT_READY"}) {
		t.Errorf("ClockOn = %+v, %v", done, err)
	}
	on.Override = ""
	if _, err := workflow.ClockOn(f, on); reason(err) != "PART_NOT_READY" {
		t.Errorf("ClockOn = %v, want PART_NOT_READY", err)
	}
}
