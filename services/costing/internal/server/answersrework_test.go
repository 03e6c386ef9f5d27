package server_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func (b *bench) rework(t *testing.T, r *costingv1.ListReworkRequest) (lines []*costingv1.Rework, total *costingv1.Rework) {
	t.Helper()
	lines = pages(t, func(ctx context.Context, size int32, token string) ([]*costingv1.Rework, string, error) {
		r.PageSize, r.PageToken = size, token
		got, err := b.answers.ListRework(ctx, r)
		total = got.GetTotal()
		return got.GetLines(), got.GetNextPageToken(), err
	})
	return lines, total
}

func sayRework(w *costingv1.Rework) string {
	return fmt.Sprint(w.Title, ": labour ", cents(w.Labour), " material ", cents(w.Material), " in all ", cents(w.Cost), " ", w.Time.AsDuration())
}

// The stool's paint coat was done again for runs and dust: 20.01 of labour and 3.00 of material, of
// which each bears a half; the odd cent is the first one's. The shelf was sanded again because somebody
// said so, for 10.00.
func TestServer_ListRework(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	b.sentBack(b.off, march(8, 14, 0))
	b.worked(b.nell, b.off, 2, march(8, 15, 0), 30)
	b.cost(t, b.shelf, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Rework) == 10_00 })
	b.finished(b.painting, 2, march(8, 17, 0))
	b.tells("workflow", b.stool, b.stool, march(9, 12, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntryCorrected{ClockEntryCorrected: &eventsv1.ClockEntryCorrected{
		After: &eventsv1.ClockSpan{EntryId: id.New().String(), PersonId: b.nell.id.String(), PersonName: "Nell", StageId: b.painting.id.String(), StageKind: "paint_coat", Pass: 2,
			Start: timestamppb.New(march(4, 16, 0)), End: timestamppb.New(march(4, 16, 0).Add(1800 * time.Millisecond))}}}}) // 0.01
	b.cost(t, b.stool, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Rework) == 23_01 })
	paint, sand := "labour 2001 material 300 in all 2301 1h0m1.8s", "labour 1000 material 0 in all 1000 30m0s"
	all := ": labour 3001 material 300 in all 3301 1h30m1.8s"
	for by, want := range map[costingv1.ListReworkRequest_By][]string{
		costingv1.ListReworkRequest_BY_STAGE_KIND: {"paint_coat: " + paint, "sand: " + sand},
		costingv1.ListReworkRequest_BY_DEFECT: {"dust: labour 1001 material 150 in all 1151 30m0.9s", "runs: labour 1000 material 150 in all 1150 30m0.9s",
			": " + sand},
		costingv1.ListReworkRequest_BY_FIRST_WORKER: {"Nell: " + sand, "Ola: " + paint},
		costingv1.ListReworkRequest_BY_PIECE:        {"Stool: " + paint, "Shelf: " + sand},
		costingv1.ListReworkRequest_BY_MONTH:        {"2026-03" + all},
	} {
		lines, total := b.rework(t, &costingv1.ListReworkRequest{By: by})
		differ(t, by.String(), want, words(lines, sayRework))
		if got := sayRework(total); got != all {
			t.Errorf("%s: total %q, want %q", by, got, all)
		}
	}
	if lines, total := b.rework(t, &costingv1.ListReworkRequest{By: costingv1.ListReworkRequest_BY_STAGE_KIND, FromDate: dayOf(3, 8), ToDate: dayOf(3, 8)}); len(lines) != 1 || sayRework(total) != ": "+sand {
		t.Errorf("on the 8th: %v", lines)
	}
	shop, err := b.costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil || cents(shop.Total.Rework) != 33_01 {
		t.Errorf("the sheets have rework of %v, %v", shop.GetTotal().GetRework(), err)
	}
	b.clean(t)
}

// The stool that was sold comes back: what mends it is rework and at once cost of what was sold, apart from what was done
// again in the shop, and by what was wrong, where it is from, and the month. What was dropped costs nothing.
func TestServer_ListRework_OfComebacks(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	comeback, mending, dropped := id.New(), job{b.stool, id.New(), "topcoat_coat"}, job{b.stool, id.New(), "inspect"}
	b.told("workflow", b.stool, march(16, 12, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_ComebackOpened{ComebackOpened: &eventsv1.ComebackOpened{
		ComebackId: comeback.String(), ReportTime: timestamppb.New(march(16, 12, 0)), Warranty: true, Faults: []*eventsv1.StageInspected_Defect{{Kind: "peeling"}}}}})
	stages, _ := stagesOf([]any{60, mending, 5, dropped})
	b.told("workflow", b.stool, march(16, 13, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_ComebackPlanned{ComebackPlanned: &eventsv1.ComebackPlanned{
		ComebackId: comeback.String(), Stages: stages, Faults: []string{"peeling"}, ReportTime: timestamppb.New(march(16, 12, 0))}}})
	b.worked(b.nell, mending, 2, march(17, 14, 0), 30)
	b.issued(mending, 2, 4_00, march(17, 15, 0))
	b.finished(mending, 2, march(17, 16, 0))
	b.told("workflow", b.stool, march(18, 12, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_ComebackJudged{ComebackJudged: &eventsv1.ComebackJudged{
		ComebackId: comeback.String(), Source: "product", Certainty: "likely"}}})
	b.told("workflow", b.stool, march(18, 13, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_ComebackClosed{ComebackClosed: &eventsv1.ComebackClosed{
		ComebackId: comeback.String(), Outcome: "mended", DroppedStageIds: []string{dropped.id.String()}}}})
	c := b.cost(t, b.stool, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Rework) == 37_00 })
	if c.Sums.ReworkTime.AsDuration() != 90*time.Minute || cents(c.Sums.Profit) != 150_00-15_00-97_00 {
		t.Errorf("the stool = %v, want an hour and a half of rework and a profit of 38.00", c.Sums)
	}
	back := ": labour 1000 material 400 in all 1400 30m0s"
	for _, of := range []costingv1.ListReworkRequest_Of{costingv1.ListReworkRequest_OF_COMEBACKS, costingv1.ListReworkRequest_OF_WARRANTY} {
		for by, want := range map[costingv1.ListReworkRequest_By]string{
			costingv1.ListReworkRequest_BY_DEFECT: "peeling", costingv1.ListReworkRequest_BY_SOURCE: "product", costingv1.ListReworkRequest_BY_MONTH: "2026-03", costingv1.ListReworkRequest_BY_COMEBACK: "Stool",
		} {
			lines, total := b.rework(t, &costingv1.ListReworkRequest{By: by, Of: of})
			differ(t, of.String()+" "+by.String(), []string{want + back}, words(lines, sayRework))
			if sayRework(total) != back {
				t.Errorf("total %q", sayRework(total))
			}
		}
	}
	lines, _ := b.rework(t, &costingv1.ListReworkRequest{By: costingv1.ListReworkRequest_BY_STAGE_KIND, Of: costingv1.ListReworkRequest_OF_SHOP})
	differ(t, "in the shop", []string{"paint_coat: labour 2000 material 300 in all 2300 1h0m0s"}, words(lines, sayRework))
	shop, err := b.costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range shop.Accounts {
		if a.Account == "rework" && cents(a.Balance) != 0 {
			t.Errorf("of what was sold %v stands in rework still", a.Balance)
		}
	}
	b.clean(t)
}
