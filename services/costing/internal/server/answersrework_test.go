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
