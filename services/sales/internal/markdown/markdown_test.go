package markdown_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/markdown"
	"tackfree/services/sales/internal/store"
)

const newYork = "America/New_York"

// A step is taken when its day begins on the shop's clock, whatever becomes of that clock. The offsets are those of the tz database:
// New York is five hours behind UTC in winter and four in summer, from 2026-03-08 to 2026-11-01; in São Paulo no clock showed
// the midnight of 2018-11-04: it went from 23:59:59, three hours behind UTC, to 01:00, two behind.
func TestKeeper_AtLocalMidnight(t *testing.T) {
	for name, c := range map[string]struct{ zone, day, set, before, at string }{
		"Winter":           {newYork, "2026-02-09", "2026-02-02T15:00:00Z", "2026-02-09T04:59:59Z", "2026-02-09T05:00:00Z"},
		"DayClocksGoOn":    {newYork, "2026-03-08", "2026-03-02T15:00:00Z", "2026-03-08T04:59:59Z", "2026-03-08T05:00:00Z"},
		"DayAfterThat":     {newYork, "2026-03-09", "2026-03-02T15:00:00Z", "2026-03-09T03:59:59Z", "2026-03-09T04:00:00Z"},
		"DayClocksGoBack":  {newYork, "2026-11-01", "2026-10-20T15:00:00Z", "2026-11-01T03:59:59Z", "2026-11-01T04:00:00Z"},
		"DayAfterBack":     {newYork, "2026-11-02", "2026-10-20T15:00:00Z", "2026-11-02T04:59:59Z", "2026-11-02T05:00:00Z"},
		"MidnightLeftOut":  {"America/Sao_Paulo", "2018-11-04", "2018-11-01T15:00:00Z", "2018-11-04T02:59:59Z", "2018-11-04T03:00:00Z"},
		"AheadOfGreenwich": {"Pacific/Auckland", "2026-02-09", "2026-02-02T15:00:00Z", "2026-02-08T10:59:59Z", "2026-02-08T11:00:00Z"},
	} {
		t.Run(name, func(t *testing.T) {
			s := open(t, c.zone, c.set)
			piece := s.planned(step(c.day, 250))
			s.set(c.before)
			s.look()
			if got := s.asked(piece); got != 300 {
				t.Errorf("a second before midnight %d is asked, want 300", got)
			}
			s.set(c.at)
			s.look()
			if got := s.asked(piece); got != 250 {
				t.Errorf("at midnight %d is asked, want 250", got)
			}
		})
	}
}

// The event names the plan, is dated as of when the step was taken, and comes once.
func TestKeeper_TellsOnce(t *testing.T) {
	s := open(t, newYork, "2026-03-02T15:00:00Z")
	piece := s.planned(step("2026-03-09", 250), step("2026-03-16", 210))
	s.set("2026-03-09T04:00:30Z")
	for range 3 {
		s.look()
		s.now = s.now.Add(6 * time.Hour)
	}
	all := s.events(piece)
	if len(all) != 1 {
		t.Fatalf("%d events, want one: %v", len(all), all)
	}
	want := &eventsv1.AskingPriceChanged{From: usd(300), To: usd(250), PlannedFor: step("2026-03-09", 0).Date, Reason: "markdown plan, step of 2026-03-09"}
	if e := all[0]; !proto.Equal(e.GetAskingPriceChanged(), want) || e.Actor != markdown.Actor || e.OccurredAt.AsTime().Format(time.RFC3339) != "2026-03-09T04:00:30Z" {
		t.Errorf("event %v", all[0])
	}
	s.set("2026-03-16T04:00:00Z")
	s.look()
	plan := s.plan(piece)
	if s.asked(piece) != 210 || plan.State != salesv1.MarkdownPlan_STATE_DONE || plan.Steps[0].DoneTime == nil || plan.Steps[1].State != salesv1.MarkdownPlan_Step_STATE_TAKEN {
		t.Errorf("after the last step %d is asked by %v", s.asked(piece), plan)
	}
}

func (s *shop) plan(piece string) *salesv1.MarkdownPlan {
	s.t.Helper()
	r, err := s.GetMarkdownPlan(s.t.Context(), &salesv1.GetMarkdownPlanRequest{Piece: piece})
	if err != nil {
		s.t.Fatal(err)
	}
	return r.Plan
}

// Nothing ran for two weeks: the last step that is due is taken, the other is passed over, and both are dated now.
func TestKeeper_DownOverTwoSteps(t *testing.T) {
	s := open(t, newYork, "2026-03-02T15:00:00Z")
	piece := s.planned(step("2026-03-09", 250), step("2026-03-16", 210), step("2026-04-16", 180))
	s.set("2026-03-20T09:00:00Z")
	s.look()
	all := s.events(piece)
	if len(all) != 2 || all[0].GetMarkdownStepSkipped().GetWhy() != eventsv1.MarkdownStepSkipped_WHY_PASSED_OVER || all[1].GetAskingPriceChanged().GetTo().GetUnits() != 210 {
		t.Fatalf("events %v", all)
	}
	if at := all[1].OccurredAt.AsTime(); !at.Equal(s.now) {
		t.Errorf("dated as of %v, want now", at)
	}
	if p := s.plan(piece); p.State != salesv1.MarkdownPlan_STATE_RUNNING || p.Steps[2].State != salesv1.MarkdownPlan_Step_STATE_PLANNED {
		t.Errorf("plan %v", p)
	}
}

// Of copies that look at once one takes the step, and the others find nothing due.
func TestKeeper_Copies(t *testing.T) {
	s := open(t, newYork, "2026-03-02T15:00:00Z")
	pieces := make([]string, 5)
	for i := range pieces {
		pieces[i] = s.planned(step("2026-03-09", 250))
	}
	s.set("2026-03-09T05:00:00Z")
	var copies sync.WaitGroup
	for range 6 {
		copies.Go(func() {
			k := &markdown.Keeper{DB: s.Keeper.DB, Log: s.Keeper.Log, Shop: s.Keeper.Shop, Logger: s.Logger}
			if err := k.Look(t.Context()); err != nil {
				t.Error(err)
			}
		})
	}
	copies.Wait()
	for _, piece := range pieces {
		if all := s.events(piece); len(all) != 1 || s.asked(piece) != 250 {
			t.Errorf("%d is asked after %d events, want 250 after one", s.asked(piece), len(all))
		}
	}
}

// Somebody asked less by hand: the step would raise it, is not taken, and says so.
func TestKeeper_AfterChangeByHand(t *testing.T) {
	s := open(t, newYork, "2026-03-02T15:00:00Z")
	piece := s.planned(step("2026-03-09", 250), step("2026-03-16", 210))
	if _, err := s.ChangeAskingPrice(svctest.Ctx(t), &salesv1.ChangeAskingPriceRequest{RequestId: svctest.NewID(), Piece: piece, AskingPrice: usd(240), Reason: "a good offer"}); err != nil {
		t.Fatal(err)
	}
	s.set("2026-03-09T05:00:00Z")
	s.look()
	all := s.events(piece)
	want := &eventsv1.MarkdownStepSkipped{PlannedFor: step("2026-03-09", 0).Date, AskingPrice: usd(250), Asked: usd(240), Why: eventsv1.MarkdownStepSkipped_WHY_NOT_LOWER}
	if len(all) != 2 || !proto.Equal(all[1].GetMarkdownStepSkipped(), want) || s.asked(piece) != 240 {
		t.Errorf("%d is asked after %v", s.asked(piece), all)
	}
	s.set("2026-03-16T05:00:00Z")
	s.look()
	if got := s.asked(piece); got != 210 {
		t.Errorf("the step after it leaves %d, want 210", got)
	}
}

// What is sold, withdrawn, dropped or scrapped is marked down no more; nor is what is listed again without a plan.
func TestKeeper_Over(t *testing.T) {
	s := open(t, newYork, "2026-03-02T15:00:00Z")
	ctx := svctest.Ctx(t)
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	sold, withdrawn, dropped, scrapped := s.planned(step("2026-03-09", 250)), s.planned(step("2026-03-09", 250)), s.planned(step("2026-03-09", 250)), s.planned(step("2026-03-09", 250))
	_, err := s.SellPiece(ctx, &salesv1.SellPieceRequest{RequestId: svctest.NewID(), Piece: sold, Price: usd(290)})
	must(err)
	_, err = s.WithdrawListing(ctx, &salesv1.WithdrawListingRequest{RequestId: svctest.NewID(), Piece: withdrawn, Reason: "a show"})
	must(err)
	_, err = s.CreateListing(ctx, &salesv1.CreateListingRequest{RequestId: svctest.NewID(), Piece: withdrawn, Channel: "fair", AskingPrice: usd(320)})
	must(err)
	_, err = s.DropMarkdownPlan(ctx, &salesv1.DropMarkdownPlanRequest{RequestId: svctest.NewID(), Piece: dropped})
	must(err)
	one, err := id.One("piece", scrapped, "pieces")
	must(err)
	must(s.Keeper.DB.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error { return store.New(tx).NoteScrapped(ctx, one, s.now) }))
	before := map[string]int{}
	for _, piece := range []string{sold, withdrawn, dropped, scrapped} {
		before[piece] = len(s.events(piece))
	}
	s.set("2026-03-20T05:00:00Z")
	s.look()
	for name, piece := range map[string]string{"sold": sold, "withdrawn": withdrawn, "dropped": dropped} {
		if step := s.plan(piece).Steps[0]; step.State != salesv1.MarkdownPlan_Step_STATE_ENDED || step.DoneTime != nil {
			t.Errorf("the step of what was %s is %v, want it ended with its plan", name, step)
		}
	}
	var due []id.ID
	must(s.Keeper.DB.View(ctx, func(q pg.Querier) (err error) {
		due, err = store.New(q).PiecesWithMarkdownDue(ctx, markdown.Today(s.Keeper.Shop, s.now))
		return err
	}))
	if len(due) != 0 {
		t.Errorf("steps of plans that are over are still looked at: %v", due)
	}
	for name, piece := range map[string]string{"sold": sold, "withdrawn": withdrawn, "dropped": dropped, "scrapped": scrapped} {
		if got := len(s.events(piece)); got != before[piece] {
			t.Errorf("of what was %s there are %d events, want %d", name, got, before[piece])
		}
	}
	if s.asked(withdrawn) != 320 || s.plan(withdrawn).State != salesv1.MarkdownPlan_STATE_ENDED || s.plan(sold).State != salesv1.MarkdownPlan_STATE_ENDED || s.plan(dropped).State != salesv1.MarkdownPlan_STATE_DROPPED {
		t.Errorf("plans %v, %v, %v", s.plan(withdrawn), s.plan(sold), s.plan(dropped))
	}
}
