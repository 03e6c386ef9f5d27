package server_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// What earnings leave out: the stool comes back with 4.00 of its fee kept and is in hand again; the box was
// given up on the 9th; and the bench, which was scrapped at the moment of its sale, is sold.
func TestServer_ListEarnings_SaysWhatIsLeftOut(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	b.told("sales", b.stool, march(16, 15, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{Price: usd(150_00), Fee: usd(11_00), PieceReturned: true}}})
	b.told("intake", b.bench, march(15, 15, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{}}})
	b.cost(t, b.stool, func(c *costingv1.PieceCost) bool { return c.State == costingv1.PieceCost_STATE_IN_HAND })
	b.cost(t, b.bench, func(c *costingv1.PieceCost) bool { return len(c.ProvisionalReasons) == 2 }) // that it was both, and Rae has no rate
	for _, c := range []struct {
		from, to int32
		want     []int64 // sold, given up, lost, returned, left by these
	}{{1, 31, []int64{2, 1, 3_00, 1, 4_00}}, {9, 9, []int64{0, 1, 3_00, 0, 0}}, {10, 15, []int64{2, 0, 0, 0, 0}}, {16, 16, []int64{0, 0, 0, 1, 4_00}}} {
		r, err := b.answers.ListEarnings(t.Context(), &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_SOURCE, FromDate: dayOf(3, c.from), ToDate: dayOf(3, c.to)})
		if err != nil {
			t.Fatal(err)
		}
		differ(t, fmt.Sprint(c.from, " to ", c.to), c.want, []int64{int64(r.Total.Pieces), int64(r.Total.GivenUp), cents(r.Total.Lost), int64(r.Returned), cents(r.LeftByReturns)})
	}
}

// An hour and a half to come is 36.00 at 24.00; of everybody's 10 % that is 3.60 more, and at 11.00 of the
// whole shop's overhead 16.50. What the booth and the machines carry is not known of hours to come.
func TestServer_PriceWhatIf_HoursToComeBearWhatIsOnTop(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	b.standard(t, 24_00, 1, 1)
	today := dayOf(3, 20)
	b.setBurden(t, burdenOf(id.Nil, "10", today))
	b.setOverhead(t, overheadOf("", labourHour, 11_00, today))
	b.setOverhead(t, overheadOf("booth", machineHour, 99_00, today, "strip"))
	got, err := b.answers.PriceWhatIf(t.Context(), &costingv1.PriceWhatIfRequest{Piece: id.Name("pieces", b.table), Price: usd(200_00), TimeToCome: durationpb.New(90 * time.Minute), MaterialToCome: usd(9_00)})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "what if", []int64{65_00, 36_00, 3_60, 16_50, 9_00, 130_10, 69_90, 130_10},
		[]int64{cents(got.CostSoFar), cents(got.LabourToCome), cents(got.BurdenToCome), cents(got.OverheadToCome), cents(got.MaterialToCome), cents(got.Cost), cents(got.Profit), cents(got.BreakEvenPrice)})
	none, err := b.answers.PriceWhatIf(t.Context(), &costingv1.PriceWhatIfRequest{Piece: id.Name("pieces", b.table), Price: usd(200_00)})
	if err != nil || none.LabourToCome != nil || none.BurdenToCome != nil || none.OverheadToCome != nil || none.MaterialToCome != nil || cents(none.Cost) != 65_00 {
		t.Errorf("with nothing to come: %v, %v", none, err)
	}
}

// The journal and the lines of its event say of overhead what was entered, and why it was taken back.
func TestServer_ListJournal_SaysWhatOverheadWas(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	rent := b.spend(t, "Rent of March", 1_200_00, dayOf(3, 18))
	if _, err := b.overheads().TakeBackOverheadActual(svctest.Ctx(t), takeBackOf(rent.Name)); err != nil {
		t.Fatal(err)
	}
	entries := b.journal(t, &costingv1.ListJournalRequest{FromDate: dayOf(3, 18), ToDate: dayOf(3, 18)})
	got := words(entries, func(e *costingv1.JournalEntry) string { return e.Description })
	slices.Sort(got)
	differ(t, "the 18th", []string{"Rent of March", "Rent of March is taken back: entered twice"}, got)
	for _, e := range entries {
		r, err := b.answers.ListCostLines(t.Context(), &costingv1.ListCostLinesRequest{EventId: e.EventId})
		if err != nil || len(r.Lines) != 2 || r.Lines[0].Says != e.Description || r.Lines[1].Says != e.Description {
			t.Errorf("its event says %v, %v; want %q", r, err, e.Description)
		}
	}
}

// A kind of stage that no plan has is done as asked, and named with those it may have been meant for.
func TestServer_NamesKindsOfStageThatNoPlanHas(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	r, err := b.overheads().SetOverheadRate(svctest.Ctx(t), overheadOf("booth", labourHour, 9_00, dayOf(3, 20), "paint_cot", "sand", "no_such_kind"))
	if err != nil {
		t.Fatal(err)
	}
	say := func(k *costingv1.UnknownStageKind) string { return fmt.Sprint(k.StageKind, " ", k.Near) }
	differ(t, "kinds of the booth", []string{"paint_cot [paint_coat]", "no_such_kind []"}, words(r.UnknownStageKinds, say))
	for kind, want := range map[string]string{"snad": "snad [sand]", "stripp": "stripp [strip]", "sand": "", "": ""} {
		_, last := b.actuals(t, &costingv1.ListPlanActualsRequest{By: costingv1.ListPlanActualsRequest_BY_STAGE_KIND, StageKind: kind, FromDate: dayOf(1, 1), ToDate: dayOf(1, 2)})
		if got := last.UnknownStageKind; got == nil && want != "" || got != nil && say(got) != want {
			t.Errorf("of %q: %v, want %q", kind, got, want)
		}
	}
}
