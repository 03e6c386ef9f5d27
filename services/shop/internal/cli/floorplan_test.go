package cli

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestFloorPlan(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.asksFor(t, line("floor-plan"), &workflowv1.GetFloorPlanRequest{})
	f.asksFor(t, line("floor-plan nell"), &workflowv1.GetFloorPlanRequest{Person: "people/n"})
	f.says(t, line("floor-plan"), "1 hardware-off – in work", "1 sand (case) The bench pinned, dries until", "Piece 1: Nobody has the skill \"sand\".\n", "80 %", "Published ", "in work, was published: Ruth, ",
		"still Priya's: publish to give it\n", "1 2026-03-02 13:00:00 CST no place – –\n")
	f.refuses(t, line("floor-plan Odile"), `nobody called "Odile"`)
}

func TestWhatIf(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	day := func(d int32) *date.Date { return &date.Date{Year: 2026, Month: 3, Day: d} }
	f.asksFor(t, line("what-if --away Nell=2026-03-02..2026-03-04 --away Ruth=2026-03-03 --new painted --new 'routes/oiled=2026-03-02 12:00'"), &workflowv1.CheckWhatIfRequest{
		Absences:  []*workflowv1.CheckWhatIfRequest_Absence{{Person: "people/n", FirstDate: day(2), LastDate: day(4)}, {Person: "people/r", FirstDate: day(3)}},
		Newcomers: []*workflowv1.CheckWhatIfRequest_Newcomer{{Route: "routes/painted"}, {Route: "routes/oiled", PromiseTime: middayPlus(0)}}})
	f.says(t, line("what-if --away Nell=2026-03-02"), "90 % 60 %", "painted – –", " no place over 99 % –\n",
		"\nElsewhere than in the plan of now:\n", "is → would be\n", "\n 1 sand Nell Mon 2 Mar 12:01 → Ruth Mon 2 Mar 13:30\n 2 sand Nell Mon 2 Mar 12:02", "\n 30 sand Nell Mon 2 Mar 12:30 → Ruth Mon 2 Mar 13:30\nand 2 more\n")
	f.asksFor(t, line("what-if --promise '1=2026-03-02 12:00'"), &workflowv1.CheckWhatIfRequest{Promises: []*workflowv1.CheckWhatIfRequest_Promise{{Piece: "pieces/a", PromiseTime: middayPlus(0)}}})
	f.asksFor(t, line("what-if --promise 1=2026-03-07"), &workflowv1.CheckWhatIfRequest{Promises: []*workflowv1.CheckWhatIfRequest_Promise{{Piece: "pieces/a", PromiseTime: lastOfSaturday}}})
	f.says(t, line("what-if --promise '1=2026-03-02 12:00'"), "Nothing would be done at another time.\n")
	f.refuses(t, line("what-if --away Nell"), "such as Nell=2026-03-02..2026-03-04")
	f.refuses(t, line("what-if --away Nell=soon"), "soon")
	f.refuses(t, line("what-if --promise 1"), "is not a piece and its promise")
}

func TestStage_Pin(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.gives(t, line("stage pin 1 'sand (case)' --to ruth --at '2026-03-02 12:00'"), &workflowv1.PinStageRequest{Stage: "pieces/a/stages/2", Person: "people/r", StartTime: middayPlus(0)})
	f.gives(t, line("stage pin 1 hardware-off"), &workflowv1.PinStageRequest{Stage: "pieces/a/stages/1"})
	f.says(t, line("stage pin 1 'sand (case)' --to Ruth"), "The plan keeps sand (case) of piece 1. It is there: Ruth Mon 2 Mar 12:00.\n")
	f.says(t, line("stage pin 1 'sand (case)' --at '2026-03-02 11:30'"), "That is later than 2026-03-02 11:30:00")
	f.refuses(t, line("stage pin 1 'sand (case)' --to Odile"), `nobody called "Odile"`)
	f.gives(t, line("stage unpin 1 'sand (case)'"), &workflowv1.UnpinStageRequest{Stage: "pieces/a/stages/2"})
	f.says(t, line("stage unpin 1 'sand (case)'"), "The plan puts sand (case) of piece 1 where it fits.\n")
}

func TestFloorPlan_Propose(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	out := f.says(t, line("floor-plan propose --budget 30s --seed 7"), "promises late 2 1\n", "hours late 9.2 3.5 2.0", "hours waiting 100.0 90.0 60.0", "moved, next two working days 0 3", "90 % 60 %", "painted – –", "1 hardware-off Ruth Mon 2 Mar 12:05 → Nell Mon 2 Mar 12:10\nProposed as",
		"`shop floor-plan publish 1` has people know it.\n")
	if strings.Contains(out, "Published") || len(f.commands()) > 0 {
		t.Errorf("it publishes unasked: %s", out)
	}
	if diff := cmp.Diff(&workflowv1.ProposePlanRequest{Budget: durationpb.New(30 * time.Second), Seed: 7}, f.asks[len(f.asks)-1], protocmp.Transform()); diff != "" {
		t.Errorf("it asks (-want +got):\n%s", diff)
	}
	f.says(t, line("floor-plan propose --json"), `"proposal": "proposals/1"`, `"progress": 1,`)
	for text, want := range map[string]string{"--budget 2m": "between a moment and a minute", "--budget=-1s": "not -1s", "--until 2026-03-02": "say --publish too", "--publish --csv": "publish by itself",
		"--publish --until soon": "is not a day"} {
		f.refuses(t, line("floor-plan propose "+text), want)
	}
	f.broken = true
	if code, out, errs := f.run(t, line("floor-plan propose")...); code != exitUnknown || out != "" || !strings.Contains(errs, "stopped looking before it was done") {
		t.Errorf("of a search that breaks off it exits %d and prints %q and %q", code, out, errs)
	}
}

func TestFloorPlan_Publish(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.gives(t, line("floor-plan publish 1 --until 2026-03-04"), &workflowv1.PublishPlanRequest{Proposal: "proposals/1", LastDate: &date.Date{Year: 2026, Month: 3, Day: 4}})
	f.gives(t, line("floor-plan propose --publish"), &workflowv1.PublishPlanRequest{Proposal: "proposals/1"})
	f.says(t, line("floor-plan publish proposals/1"), "Published: 4 assigned, 1 freed, 2 left alone.\n", "1 sand sand is Nell's by hand.", "2 prime Ruth is on the clock at prime.")
	f.refuses(t, line("floor-plan publish 1 --until soon"), "is not a day")
}

// What was proposed and perhaps published is found out of and not looked for again.
func TestFloorPlan_PublishedPerhaps(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.lost = fault.New(fault.Unavailable, "LOST", "The answer was lost.")
	code, _, errs := f.run(t, line("floor-plan propose --publish --until 2026-03-04")...)
	id := f.lastCommand().(*workflowv1.PublishPlanRequest).RequestId
	want := "--proposal proposals/1 --request-id " + id
	if code != exitUnknown || !strings.Contains(errs, "shop floor-plan propose --publish --until 2026-03-04 ") || !strings.Contains(errs, want) {
		t.Fatalf("it exits %d and says %s, without %q", code, errs, want)
	}
	f.lost = nil
	asks := len(f.asks)
	f.gives(t, line("floor-plan propose --publish --until 2026-03-04 "+want), &workflowv1.PublishPlanRequest{Proposal: "proposals/1", LastDate: &date.Date{Year: 2026, Month: 3, Day: 4}})
	if len(f.doings()) != 1 || len(f.asks) != asks {
		t.Errorf("it was done under %v, and %d were asked", f.doings(), len(f.asks)-asks)
	}
}

func TestFloorPlan_ProposeOnATerminal(t *testing.T) {
	t.Parallel()
	shownOn(t, "1 late, 3.5 h (none below 2.0 h)", func(e *env, seen func() string) {
		p := e.progress("looking", 1000, false)
		waitFor(t, "50%", func() bool { // it is told again and again, and shown as often as people can read
			p.says(soFar(&workflowv1.ProposePlanResponse{Cost: &workflowv1.PlanCost{LateHours: 3.5, LatePromises: 1}, LeastLateHours: 2}))
			p.at(500)
			return strings.Contains(seen(), "50%")
		})
	})
}

func TestPromise_Suggest(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.asksFor(t, line("promise suggest --route painted"), &workflowv1.SuggestPromiseDateRequest{Route: "routes/painted", Chance: 0.8})
	f.asksFor(t, line("promise suggest --piece 1 --chance 95"), &workflowv1.SuggestPromiseDateRequest{Piece: "pieces/a", Chance: 0.95})
	f.says(t, line("promise suggest --piece 1"), "gently: others as without it", "83 %", "80 % 2026-03-02 13:30:00 CST\n\nHurried", "hurried: it goes first", "50 %", "Hurried, of other pieces:", "90 % 60 %")
	for text, want := range map[string]string{"": "say --route", "--route painted --piece 1": "say --route", "--piece 1 --chance 100": "from 1 to 99", "--piece 1 --chance 0": "from 1 to 99", "--piece x": "not a tag number"} {
		f.refuses(t, line("promise suggest "+text), want)
	}
}

// Going first is no way to promise something where it is no earlier.
func TestPromise_HurriedSooner(t *testing.T) {
	t.Parallel()
	option := func(minutes int) *workflowv1.SuggestPromiseDateResponse_Option {
		return &workflowv1.SuggestPromiseDateResponse_Option{PromiseTime: middayPlus(minutes)}
	}
	for _, c := range []struct {
		gentle, hurried *workflowv1.SuggestPromiseDateResponse_Option
		shown           bool
	}{{option(60), option(59), true}, {option(60), option(60), false}, {option(60), option(61), false}, {nil, option(60), true}, {option(60), nil, false}} {
		if got := hurriedSooner(&workflowv1.SuggestPromiseDateResponse{Gentle: c.gentle, Hurried: c.hurried}); (got != nil) != c.shown {
			t.Errorf("hurriedSooner(%v, %v) = %v, want it %t", c.gentle, c.hurried, got, c.shown)
		}
	}
}

func TestLikely(t *testing.T) {
	t.Parallel()
	for chance, want := range map[float64]string{0: "0 %", 0.004: "under 1 %", 0.5: "50 %", 0.99: "99 %", 0.995: "over 99 %", 0.996: "over 99 %", 1: "over 99 %"} {
		if got := likely(chance); got != want {
			t.Errorf("likely(%v) = %q, want %q", chance, got, want)
		}
	}
}
