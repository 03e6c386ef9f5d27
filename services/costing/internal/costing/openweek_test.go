package costing_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/services/costing/internal/costing"
)

// Which weeks are open, by what is uncertain on the Wednesday of 18 March, with a rule from 2 March on.
func TestOpenWeeks(t *testing.T) {
	ana := id.New()
	toOverhead := labour.Rule{WeeklyAfter: 40 * time.Hour, Percent: 150, ToOverhead: true}
	of := func(person id.ID, name string, from, to time.Time) costing.Uncertain {
		return costing.Uncertain{Person: person, PersonName: name, From: from, To: to}
	}
	twice := costing.Uncertain{Person: nell, PersonName: "Nell", From: at(3, 10, 9, 0), To: at(3, 10, 9, 0), Tangled: true}
	const (
		current = "the workweek of 2026-03-16 is not over: overtime may still change this"
		nells   = "not all hours of Nell in the week of 2026-03-09 are booked yet, or some wait for the lead: overtime may still change this"
		before  = "not all hours of Nell in the week of 2026-03-02 are booked yet, or some wait for the lead: overtime may still change this"
		anas    = "not all hours of Ana in the week of 2026-03-09 are booked yet, or some wait for the lead: overtime may still change this"
		tangle  = "the hours of Nell in the week of 2026-03-09 contradict each other (2026-03-10 09:00 is there twice, or was taken away and never there); until they are corrected overtime counts each minute once"
	)
	for name, c := range map[string]struct {
		rules     []costing.PayRule
		uncertain []costing.Uncertain
		want      []string
	}{
		"NoRule":        {nil, []costing.Uncertain{of(nell, "Nell", at(3, 9, 9, 0), at(3, 9, 10, 0))}, nil},
		"NothingElse":   {[]costing.PayRule{payRule(3, 2, timeAndAHalf)}, nil, []string{current}},
		"ByTheDay":      {[]costing.PayRule{payRule(3, 2, labour.Rule{DailyAfter: 8 * time.Hour, Percent: 150})}, nil, []string{current}},
		"RoundingAlone": {[]costing.PayRule{payRule(3, 2, labour.Rule{RoundTo: 5 * time.Minute})}, []costing.Uncertain{twice}, []string{tangle}},
		"ToOverhead":    {[]costing.PayRule{payRule(3, 2, toOverhead)}, []costing.Uncertain{of(nell, "Nell", at(3, 9, 9, 0), at(3, 9, 10, 0)), twice}, []string{tangle}},
		"BeforeTheRule": {[]costing.PayRule{payRule(3, 2, timeAndAHalf)}, []costing.Uncertain{of(nell, "Nell", at(3, 1, 9, 0), at(3, 1, 10, 0))}, []string{current}},
		"OfThisWeek":    {[]costing.PayRule{payRule(3, 2, timeAndAHalf)}, []costing.Uncertain{of(nell, "Nell", at(3, 16, 9, 0), at(3, 16, 10, 0))}, []string{current}},
		"OverMidnight":  {[]costing.PayRule{payRule(3, 2, timeAndAHalf)}, []costing.Uncertain{of(nell, "Nell", at(3, 8, 22, 0), at(3, 9, 2, 0))}, []string{before, nells, current}},
		"RunsUntilNow":  {[]costing.PayRule{payRule(3, 2, timeAndAHalf)}, []costing.Uncertain{of(nell, "Nell", at(3, 2, 9, 0), at(3, 18, 0, 0))}, []string{before, nells, current}},
		"ForgottenLongAgo": {[]costing.PayRule{payRule(2, 16, timeAndAHalf)}, []costing.Uncertain{of(nell, "Nell", at(2, 16, 9, 0), at(3, 18, 0, 0))},
			[]string{strings.ReplaceAll(before, "03-02", "02-16"), strings.ReplaceAll(before, "03-02", "02-23"), current}},
		"Several": {[]costing.PayRule{payRule(3, 2, timeAndAHalf)}, []costing.Uncertain{of(nell, "Nell", at(3, 9, 9, 0), at(3, 9, 10, 0)), of(ana, "Ana", at(3, 11, 9, 0), at(3, 11, 9, 0)), twice,
			of(nell, "Nell", at(3, 13, 9, 0), at(3, 13, 10, 0))}, []string{anas, tangle, current}},
	} {
		var sheet costing.Sheet
		sheet.Weeks = costing.OpenWeeks(c.rules, c.uncertain, at(3, 18, 12, 0), newYork)
		if got := sheet.Open(newYork, usd); !slices.Equal(got, c.want) {
			t.Errorf("%s: open for %q, want %q", name, got, c.want)
		}
	}
}

// What is done is held against the plan that was in force then; the last time counts, and what is dropped has none.
func TestBook_PlanStages_AmendedAfterwards(t *testing.T) {
	b, f, sand := costing.NewBook(costing.Standard()), fact(id.New()), id.New()
	plan := func(minutes int) {
		b.PlanStages(f, []costing.Stage{{ID: sand, Piece: f.Piece, Kind: "sand", Planned: time.Duration(minutes) * time.Minute, State: costing.StageOpen}})
	}
	held := func(planned, held int) {
		t.Helper()
		if s := b.Planned()[0]; s.Planned != time.Duration(planned)*time.Minute || s.Held != time.Duration(held)*time.Minute {
			t.Errorf("planned are %v, and held against it is %v; want %d and %d minutes", s.Planned, s.Held, planned, held)
		}
	}
	plan(45)
	b.SetStages(f, costing.StageDone, sand)
	held(45, 45)
	plan(90)
	held(90, 45)
	b.SetStages(f, costing.StageOpen, sand)
	held(90, 0)
	b.SetStages(f, costing.StageDone, sand)
	held(90, 90)
	b.PlanStages(f, nil, sand)
	held(90, 0)
}
