package workflow

import (
	"testing"
	"time"

	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// A piece with a top and a case, of which each is coated and coated again.
func TestPlan_Board(t *testing.T) {
	now := time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)
	top, body := id.New(), id.New()
	stages := []Stage{{Part: top, Key: "coat", PartLabel: "top"}, {Part: body, Key: "coat", PartLabel: "case"}, {Part: top, Key: "coat-2", PartLabel: "top"}, {Part: body, Key: "coat-2", PartLabel: "case"}}
	for i := range stages {
		stages[i].ID, stages[i].Kind, stages[i].Position, stages[i].Needs = id.New(), "topcoat_coat", int32(i+1), finish.NeedsRecoat
	}
	stages[2].After, stages[3].After = []id.ID{stages[0].ID}, []id.ID{stages[1].ID}
	done := func(p *Plan, indexes ...int) {
		for _, i := range indexes {
			p.Stages[i].FinishedAt = now.Add(-time.Hour)
		}
	}
	wet := func(p *Plan, part id.ID) {
		p.Clocks = append(p.Clocks, DryClock{Part: part, Kind: FilmDries, Laid: now.Add(-time.Hour), Windows: map[drying.Milestone]drying.Window{drying.DryToRecoat: {Likely: now.Add(time.Hour)}}})
	}
	for name, c := range map[string]struct {
		change func(*Plan)
		state  BoardState
		next   string
	}{
		"Begins":             {func(*Plan) {}, BoardReady, "coat (top) ready, coat (case) ready"},
		"SomebodyIsAtIt":     {func(p *Plan) { p.OnIt[stages[1].ID] = []string{"Nell"} }, BoardInWork, "coat (top) ready, coat (case) in_work"},
		"OnePartDries":       {func(p *Plan) { done(p, 0); wet(p, top) }, BoardReady, "coat (case) ready, coat-2 (top) drying"},
		"AllDries":           {func(p *Plan) { done(p, 0, 1); wet(p, top); wet(p, body) }, BoardDrying, "coat-2 (top) drying, coat-2 (case) drying"},
		"OnePartIsAway":      {func(p *Plan) { p.Away = []id.ID{top} }, BoardReady, "coat (top) away, coat (case) ready"},
		"WhatIsReadyIsAway":  {func(p *Plan) { done(p, 0); wet(p, top); p.Away = []id.ID{body} }, BoardDrying, "coat (case) away, coat-2 (top) drying"},
		"WhatDriesIsAway":    {func(p *Plan) { done(p, 0, 1, 3); wet(p, top); p.Away = []id.ID{top} }, BoardAway, "coat-2 (top) away"},
		"AllIsAway":          {func(p *Plan) { p.Away = []id.ID{id.Nil} }, BoardAway, "coat (top) away, coat (case) away"},
		"WhatIsLeftIsAway":   {func(p *Plan) { done(p, 1, 3); p.Away = []id.ID{top} }, BoardAway, "coat (top) away"},
		"WorkedOnAsItLeaves": {func(p *Plan) { p.OnIt[stages[0].ID] = []string{"Nell"}; p.Away = []id.ID{id.Nil} }, BoardInWork, "coat (top) in_work, coat (case) away"},
		"Done":               {func(p *Plan) { done(p, 0, 1, 2, 3) }, BoardDone, ""},
		"DoneAndAPartAway":   {func(p *Plan) { done(p, 0, 1, 2, 3); p.Away = []id.ID{top} }, BoardAway, ""},
		"DoneAndAway":        {func(p *Plan) { done(p, 0, 1, 2, 3); p.Away = []id.ID{id.Nil} }, BoardAway, ""},
		"NobodyPlannedIt":    {func(p *Plan) { p.Stages, p.Piece.Planned = nil, false }, BoardUnplanned, ""},
		"UnplannedAndAway":   {func(p *Plan) { p.Stages, p.Piece.Planned, p.Away = nil, false, []id.ID{top} }, BoardAway, ""},
		"Sold":               {func(p *Plan) { done(p, 0); p.Piece.SoldAt = now }, BoardSold, ""},
		"SoldAndAway":        {func(p *Plan) { p.Piece.SoldAt, p.Away = now, []id.ID{top} }, BoardAway, ""},
		"SoldWhenDone":       {func(p *Plan) { done(p, 0, 1, 2, 3); p.Piece.SoldAt = now }, BoardDone, ""},
		"SoldAsItIs":         {func(p *Plan) { p.Stages, p.Piece.Planned, p.Piece.SoldAt = nil, false, now }, BoardSold, ""},
		"SoldUnderTheHands":  {func(p *Plan) { p.OnIt[stages[1].ID] = []string{"Nell"}; p.Piece.SoldAt = now }, BoardInWork, "coat (case) in_work"},
		"SoldAndGivenUp":     {func(p *Plan) { p.Piece.SoldAt, p.Piece.Scrapped = now, true }, BoardScrapped, ""},
		"GivenUp":            {func(p *Plan) { p.Piece.Scrapped = true }, BoardScrapped, ""},
		"GivenUpAndAway":     {func(p *Plan) { p.Piece.Scrapped, p.Away = true, []id.ID{top} }, BoardAway, ""},
	} {
		t.Run(name, func(t *testing.T) {
			p := &Plan{Piece: Piece{Planned: true}, Stages: append([]Stage(nil), stages...), OnIt: map[id.ID][]string{}}
			c.change(p)
			state, next := p.Board(now)
			got := ""
			for i, n := range next {
				if i > 0 {
					got += ", "
				}
				got += n.Title() + " " + string(n.State)
			}
			if state != c.state || got != c.next {
				t.Errorf("Board = %s: %s; want %s: %s", state, got, c.state, c.next)
			}
		})
	}
}
