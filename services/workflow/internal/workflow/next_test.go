package workflow_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/sentence"
	"tackfree/services/workflow/internal/workflow"
)

// open is a piece with a single stage, of half an hour, that takes no skill.
func open(tag int32, change ...func(*workflow.OpenPiece)) workflow.OpenPiece {
	p := workflow.OpenPiece{Plan: workflow.Plan{Piece: workflow.Piece{ID: id.New(), Tag: tag, TakenIn: nine.AddDate(0, 0, -9), Planned: true}, OnIt: map[id.ID][]string{}}}
	p.Stages = []workflow.Stage{{ID: id.New(), Piece: p.Piece.ID, Key: "sand", Kind: "sand", Position: 1, Attended: 30 * time.Minute}}
	for _, c := range change {
		c(&p)
	}
	return p
}

func promised(in time.Duration) func(*workflow.OpenPiece) {
	return func(p *workflow.OpenPiece) { p.Piece.Promised = nine.Add(in) }
}

func worth(minor int64) func(*workflow.OpenPiece) {
	return func(p *workflow.OpenPiece) { p.Piece.Value = &minor }
}

func takes(d time.Duration) func(*workflow.OpenPiece) {
	return func(p *workflow.OpenPiece) { p.Stages[0].Attended = d }
}

func dries(d time.Duration) func(*workflow.OpenPiece) {
	return func(p *workflow.OpenPiece) { p.Stages[0].Unattended = d }
}

func has(people ...*workflow.Person) func(*workflow.OpenPiece) {
	return func(p *workflow.OpenPiece) {
		for i, person := range people {
			if i == 0 {
				p.Stages[0].Assignee, p.Stages[0].AssignedTo = person.ID, person.Name
				continue
			}
			p.Stages[0].Helpers = append(p.Stages[0].Helpers, workflow.Helper{ID: person.ID, Name: person.Name})
		}
	}
}

func search(p *workflow.Person, pieces ...workflow.OpenPiece) *workflow.Search {
	return &workflow.Search{Person: *p, Open: pieces, Now: nine}
}

// tags are the pieces of offers, in their order.
func tags(offers []workflow.Offer) (out []int32) {
	for _, o := range offers {
		out = append(out, o.Piece.Piece.Tag)
	}
	return out
}

func wantNext(t *testing.T, s *workflow.Search, want ...int32) []workflow.Offer {
	t.Helper()
	offers, _ := s.Next()
	if got := tags(offers); !slices.Equal(got, want) {
		t.Errorf("Next is of pieces %v, want %v", got, want)
	}
	return offers
}

// wantObstacles checks that exactly these sentences are said.
func wantObstacles(t *testing.T, s *workflow.Search, want ...string) {
	t.Helper()
	_, got := s.Next()
	if len(got) != len(want) {
		t.Errorf("obstacles = %q, want %d", got, len(want))
		return
	}
	for i, w := range want {
		if !strings.Contains(got[i].Text, w) || !strings.HasSuffix(got[i].Text, ".") || got[i].Reason == "" {
			t.Errorf("obstacle %d = %q, want %q", i, got[i].Text, w)
		}
	}
}

// The index by hand, at nine. The sanding of piece 1 takes 30 minutes, and with a coat after it
// (20 minutes, and 10 to dry) an hour is ahead; piece 2 has 60 minutes of sanding left. The mean
// of what is to choose from is 45 minutes, so k·p̄ is 90.
//
//	1: worth 60000, due in 150 minutes: 60000/30 · exp(−(150 − 60)/90) = 2000 · e⁻¹ = 735.76
//	2: worth 48000, due in 240 minutes: 48000/60 · exp(−(240 − 60)/90) = 800 · e⁻² = 108.27
func TestSearch_Next_ByHand(t *testing.T) {
	first := open(1, worth(60000), promised(150*time.Minute))
	first.Stages = append(first.Stages, workflow.Stage{ID: id.New(), Piece: first.Piece.ID, Key: "coat", Kind: "coat", Position: 2,
		After: []id.ID{first.Stages[0].ID}, Attended: 20 * time.Minute, Unattended: 10 * time.Minute})
	offers := wantNext(t, search(helper("Nell"), open(2, worth(48000), promised(240*time.Minute), takes(time.Hour)), first), 1, 2)
	for i, want := range []float64{735.76, 108.27} {
		if got := math.Exp(offers[i].Urgency); math.Abs(got-want) > 0.005 {
			t.Errorf("cost of piece %d = %.2f, want %.2f", i+1, got, want)
		}
	}
	if want := "Piece 1 is promised for Mon 2 Mar 2026 16:30 UTC and has 1:00 of work and drying ahead, with 1:30 to spare."; offers[0].Why != want {
		t.Errorf("why = %q, want %q", offers[0].Why, want)
	}
}

// Plain cases of which any lead knows the answer.
func TestSearch_Next_Order(t *testing.T) {
	nell, day := helper("Nell"), 24*time.Hour
	for name, c := range map[string]struct {
		pieces []workflow.OpenPiece
		want   []int32
	}{
		"PromisedTomorrowBeforeStock":       {[]workflow.OpenPiece{open(1, worth(500000)), open(2, worth(10000), promised(day))}, []int32{2, 1}},
		"PromisedInTwoMonthsBeforeStock":    {[]workflow.OpenPiece{open(1, worth(500000)), open(2, worth(10000), promised(60*day))}, []int32{2, 1}},
		"PromisedBeforeStockThatDriesLong":  {[]workflow.OpenPiece{open(1, worth(500000), dries(60*day)), open(2, worth(10000), promised(60*day))}, []int32{2, 1}},
		"OfStockTheOneThatDriesLong":        {[]workflow.OpenPiece{open(1), open(2, dries(9*day))}, []int32{2, 1}},
		"PromisedSooner":                    {[]workflow.OpenPiece{open(1, promised(3*day)), open(2, promised(2*day))}, []int32{2, 1}},
		"OfTwoAlikeTheDearer":               {[]workflow.OpenPiece{open(1, worth(10000)), open(2, worth(50000))}, []int32{2, 1}},
		"ShortBeforeLong":                   {[]workflow.OpenPiece{open(1, takes(2*time.Hour)), open(2, takes(20*time.Minute))}, []int32{2, 1}},
		"LateTheDearer":                     {[]workflow.OpenPiece{open(1, worth(10000), promised(-3*day)), open(2, worth(50000), promised(-day))}, []int32{2, 1}},
		"LateBeforeWhatHasTime":             {[]workflow.OpenPiece{open(1, promised(4*day)), open(2, promised(-day))}, []int32{2, 1}},
		"TheirsFirst":                       {[]workflow.OpenPiece{open(1, promised(-day)), open(2, has(nell))}, []int32{2, 1}},
		"NobodyKnowsItsWorthSoTheMedianOne": {[]workflow.OpenPiece{open(1, worth(100)), open(2), open(3, worth(300)), open(4, worth(200))}, []int32{3, 2, 4, 1}},
		"AlikeByTag":                        {[]workflow.OpenPiece{open(3), open(1), open(2)}, []int32{1, 2, 3}},
		"WhatTakesNoTimeIsNotFirstOfAll":    {[]workflow.OpenPiece{open(1, takes(0), worth(10000)), open(2, takes(10*time.Minute), worth(60000))}, []int32{2, 1}},
	} {
		t.Run(name, func(t *testing.T) { wantNext(t, search(nell, c.pieces...), c.want...) })
	}
}

// varnished is a coat over a film that can be coated since an hour ago, until some time.
func varnished(closes time.Duration) func(*workflow.OpenPiece) {
	return func(p *workflow.OpenPiece) {
		s := &p.Stages[0]
		s.Key, s.Kind, s.Needs = "topcoat", string(finish.TopcoatCoat), finish.NeedsRecoat
		ready := nine.Add(-time.Hour)
		w := map[drying.Milestone]drying.Window{drying.DryToRecoat: {Early: ready, Likely: ready, Late: ready}}
		if closes != 0 {
			w[drying.RecoatCloses] = drying.Window{Likely: nine.Add(closes)}
		}
		p.Clocks = []workflow.DryClock{{Stage: id.New(), Piece: p.Piece.ID, Kind: workflow.FilmDries, Laid: nine.Add(-9 * time.Hour), Windows: w, Stays: []workflow.Stay{{From: nine}}}}
	}
}

// What can be coated until two in the afternoon, and must be scuffed then, comes before what
// is as urgent; a window that has closed does not matter any more.
func TestSearch_Next_RecoatWindow(t *testing.T) {
	offers := wantNext(t, search(helper("Nell"), open(1, varnished(0)), open(2, varnished(3*time.Hour)), open(3, varnished(-time.Minute))), 2, 1, 3)
	if why := offers[0].Why; !strings.Contains(why, "scuffed first if it is not begun by Mon 2 Mar 2026 17:00 UTC") {
		t.Errorf("why = %q", why)
	}
	if offers[1].Urgency != offers[2].Urgency {
		t.Errorf("a window that has closed makes %v of %v", offers[2].Urgency, offers[1].Urgency)
	}
	// Promised sooner than that, the promise is what counts.
	wantNext(t, search(helper("Nell"), open(1, varnished(30*time.Hour), promised(time.Hour)), open(2, varnished(20*time.Hour), promised(2*time.Hour))), 1, 2)
}

func TestSearch_Next_Obstacles(t *testing.T) {
	nell, ira, tom := helper("Nell", "sand"), helper("Ira"), helper("Tom")
	spray := func(p *workflow.OpenPiece) { p.Stages[0].Skill = "spray" }
	three := func(p *workflow.OpenPiece) { p.Stages[0].Skill, p.Stages[0].SkillLevel = "sand", 3 }
	wet := func(until time.Duration) func(*workflow.OpenPiece) {
		return func(p *workflow.OpenPiece) {
			varnished(0)(p)
			at := nine.Add(until)
			if until == 0 {
				at = time.Time{}
			}
			p.Clocks[0].Windows[drying.DryToRecoat] = drying.Window{Early: at, Likely: at, Late: at}
		}
	}
	waits := func(p *workflow.OpenPiece) {
		p.Stages = append(p.Stages, workflow.Stage{ID: id.New(), Piece: p.Piece.ID, Key: "coat", Position: 2, After: []id.ID{p.Stages[0].ID}})
	}
	isAway := func(p *workflow.OpenPiece) { p.Away = []id.ID{id.Nil} }
	atWork := func(names ...string) func(*workflow.OpenPiece) {
		return func(p *workflow.OpenPiece) { p.OnIt[p.Stages[0].ID] = names }
	}
	fronts, backs := id.New(), id.New()
	batched := func(b id.ID) func(*workflow.OpenPiece) { return func(p *workflow.OpenPiece) { p.Stages[0].Batch = b } }
	old := func(p *workflow.OpenPiece) { p.Stages[0].DisturbsOld = true }
	for name, c := range map[string]struct {
		pieces []workflow.OpenPiece
		next   []int32
		want   []string
	}{
		"Skills": {[]workflow.OpenPiece{open(1, spray), open(2, spray), open(3, three)}, nil,
			[]string{"1 stage takes the skill sand at level 3, which Nell does not have.", "2 stages take the skill spray, which Nell does not have."}},
		"StillWet": {[]workflow.OpenPiece{open(101, wet(9*time.Hour)), open(102, wet(10*time.Minute))}, nil,
			[]string{"2 still dry, the first until Mon 2 Mar 2026 14:10 UTC: topcoat of piece 102."}},
		"NeverDry":         {[]workflow.OpenPiece{open(101, wet(0))}, nil, []string{"in the air where they stand never will be: topcoat of piece 101."}},
		"OneAfterTheOther": {[]workflow.OpenPiece{open(1, waits)}, []int32{1}, []string{"1 stage waits for what comes before it: on piece 1, coat has to wait: not finished before it: sand."}},
		"Outside":          {[]workflow.OpenPiece{open(1, isAway), open(2, isAway)}, nil, []string{"2 stages are on what is outside the shop; the first: on piece 1, sand has to wait"}},
		"SomebodyElses":    {[]workflow.OpenPiece{open(1, has(ira)), open(2, has(ira, nell)), open(3, atWork("Tom"))}, []int32{2}, []string{"2 stages are somebody else's; the first: on piece 1, sand is Ira's. Assign it to Nell first, alone or beside them."}},
		"TheirsAndAtIt":    {[]workflow.OpenPiece{open(1, has(nell), atWork("Nell")), open(2, has(tom, nell), atWork("Tom"))}, []int32{2}, nil},
		"InABatch":         {[]workflow.OpenPiece{open(1, batched(fronts)), open(2, batched(fronts), has(nell))}, []int32{2}, []string{`1 stage is run in a batch: on piece 1, sand is run in the batch "fronts". Clock on at the batch, or take it out of that or dissolve that first.`}},
		"InTwoBatches": {[]workflow.OpenPiece{open(1, batched(backs)), open(2, batched(fronts)), open(3, batched(backs))}, nil,
			[]string{`2 stages are run in one batch; the first: on piece 1, sand is run in the batch "backs".`, `1 stage is run in a batch: on piece 2, sand is run in the batch "fronts".`}},
		"UntestedForLead":   {[]workflow.OpenPiece{open(1, old)}, nil, []string{"1 stage waits for a test for lead: on piece 1, sand has to wait"}},
		"NothingToDoAtAll":  {nil, nil, nil},
		"WhatIsFinishedNot": {[]workflow.OpenPiece{open(1, func(p *workflow.OpenPiece) { p.Stages[0].FinishedAt = nine })}, nil, nil},
	} {
		t.Run(name, func(t *testing.T) {
			s := search(nell, c.pieces...)
			s.Batches = map[id.ID]string{fronts: "fronts", backs: "backs"}
			wantNext(t, s, c.next...)
			wantObstacles(t, s, c.want...)
		})
	}
	nell.ActiveTo = nine.AddDate(0, 0, -1)
	s := search(nell, open(1))
	wantNext(t, s)
	wantObstacles(t, s, "Nell left the shop")
}

// A coat is offered where there is a booth for it that is not full, that the person may use and
// in which it may be done; and where they stand, only what is done there.
func TestSearch_Next_Stations(t *testing.T) {
	nell := helper("Nell")
	booth := workflow.Station{ID: id.New(), Word: "booth", Name: "The booth", Kind: workflow.SprayBooth, Capacity: 1, Unit: workflow.InPieces}
	bench := workflow.Station{ID: id.New(), Word: "bench-1", Name: "Bench 1", Kind: workflow.Bench, Capacity: 9, Unit: workflow.InPieces}
	spray := open(1, func(p *workflow.OpenPiece) { p.Stages[0].Station, p.Stages[0].Product = "booth", id.New() })
	at := func(change func(*workflow.Station), s *workflow.Search) *workflow.Search {
		b := booth
		change(&b)
		s.Places.Stations = []workflow.Station{bench, b}
		return s
	}
	asItIs := func(*workflow.Station) {}
	wantNext(t, search(nell, spray, open(2)), 1, 2) // the shop told of no stations
	wantNext(t, at(asItIs, search(nell, spray, open(2))), 1, 2)
	refused := func(s *workflow.Search, next []int32, words ...string) {
		t.Helper()
		wantNext(t, s, next...)
		wantObstacles(t, s, words...)
	}
	held := func(b *workflow.Station) {
		b.Holds = []workflow.Placement{{Piece: id.New(), PieceTag: 9, Takes: 1, Station: b.ID, From: nine.Add(-time.Hour)}}
	}
	refused(at(held, search(nell, spray, open(2))), []int32{2}, "1 stage finds no room: on piece 1, The booth has no room for piece 1")
	refused(at(func(b *workflow.Station) { b.StageKinds = []string{"topcoat"} }, search(nell, spray)), nil, "1 stage is not done there")
	only := *nell
	only.Stations = []string{"bench-1"}
	refused(at(asItIs, search(&only, spray)), nil, "may not use The booth")
	standing := at(asItIs, search(nell, spray, open(2)))
	standing.Station = "bench-1"
	refused(standing, []int32{2}, "1 stage is not done there: on piece 1, sand needs a booth, and Bench 1 is a bench")
	dirty := at(func(b *workflow.Station) { b.Changeover = time.Hour }, search(nell, spray))
	dirty.Used = []workflow.UsedAt{
		{Station: booth.ID, Product: spray.Stages[0].Product, Used: workflow.Used{Product: "varnish", Person: "Ira", Until: nine.Add(-time.Minute)}},
		{Station: booth.ID, Product: id.New(), Used: workflow.Used{Product: "old paint", Person: "Tom", Until: nine.Add(-3 * time.Hour)}},
		{Station: booth.ID, Product: id.New(), Used: workflow.Used{Product: "cream paint", Person: "Tom", Until: nine.Add(-30 * time.Minute)}}}
	refused(dirty, nil, "1 stage waits for a clean place: on piece 1, Tom worked with cream paint at The booth")
	dirty.Used = dirty.Used[:2] // with the same product, and long ago
	wantNext(t, dirty, 1)
}

// A coat is not laid in air that it cannot stand, as it was read of late.
func TestSearch_Next_Air(t *testing.T) {
	air, err := climate.NewAir(5, 50)
	if err != nil {
		t.Fatal(err)
	}
	zone := id.New()
	s := search(helper("Nell"), open(1, func(p *workflow.OpenPiece) { p.Stages[0].Zone, p.Stages[0].Coating = zone, &workflow.Coating{} }))
	wantNext(t, s, 1)
	s.Airs = map[id.ID]workflow.Air{zone: {At: nine.Add(-time.Hour), Air: air, Surface: 5}}
	wantNext(t, s)
	wantObstacles(t, s, "1 stage waits for other air: on piece 1, sand has to wait: by the reading")
}

// What is a person's own comes in the same order, what cannot be done yet last and with what
// keeps it.
func TestSearch_Own(t *testing.T) {
	nell, ira := helper("Nell"), helper("Ira")
	waits := open(1, has(nell), promised(time.Hour))
	waits.Stages = append(waits.Stages, workflow.Stage{ID: id.New(), Piece: waits.Piece.ID, Key: "strip", Position: 0, Assignee: ira.ID})
	waits.Stages[0].After = []id.ID{waits.Stages[1].ID}
	atWork := open(4, has(nell))
	atWork.OnIt[atWork.Stages[0].ID] = []string{"Nell"}
	own := search(nell, waits, open(2, has(ira, nell)), open(3, has(nell), promised(24*time.Hour)), atWork, open(5)).Own()
	if got := tags(own); !slices.Equal(got, []int32{3, 2, 4, 1}) {
		t.Fatalf("Own is of pieces %v, want 3, 2, 4, 1", got)
	}
	if !strings.Contains(own[0].Why, "Nell has it already") || !strings.Contains(own[3].Why, "not finished before it: strip") {
		t.Errorf("why = %q and %q", own[0].Why, own[3].Why)
	}
}

// A named stage is given to whom it can be given, and every refusal says what is in the way.
func TestSearch_Claim(t *testing.T) {
	nell, ira := helper("Nell"), helper("Ira")
	pieces := []workflow.OpenPiece{open(1), open(2, has(ira)), open(3, has(nell))}
	s := search(nell, pieces...)
	for i, want := range []string{"", "STAGE_OF_ANOTHER", ""} {
		o, err := s.Claim(pieces[i].Piece.ID, pieces[i].Stages[0].ID)
		if want != "" {
			refusedWords(t, err, want, "sand", "Ira", "Nell")
		} else if err != nil || o.Why == "" || o.Theirs != (i == 2) {
			t.Errorf("Claim of piece %d = %+v, %v", i+1, o, err)
		}
	}
	taken := pieces[0].Plan
	taken.Stages = slices.Clone(taken.Stages)
	taken.Stages[0].Assignee, taken.Stages[0].AssignedTo = ira.ID, "Ira"
	s.See(taken)
	_, err := s.Claim(taken.Piece.ID, taken.Stages[0].ID)
	refusedWords(t, err, "STAGE_OF_ANOTHER", "Ira")
	done := open(4, func(p *workflow.OpenPiece) { p.Stages[0].FinishedAt = nine })
	s.See(done.Plan)
	_, err = s.Claim(done.Piece.ID, done.Stages[0].ID)
	refusedWords(t, err, "STAGE_FINISHED", "sand")
	_, err = s.Claim(done.Piece.ID, id.New())
	refusedWords(t, err, "STAGE_NOT_FOUND")
	refusedWords(t, workflow.NothingToClaim(*nell, []sentence.Sentence{sentence.New("KEPT", "2 stages are somebody else's; the first: on piece 1, sand is Ira's. Assign it to Nell first, alone or beside them.")}), "NOTHING_TO_CLAIM", "Nell", "2 stages are somebody else's; the first: on piece 1, sand is Ira's. Assign it to Nell first, alone or beside them.")
}
