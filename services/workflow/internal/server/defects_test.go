package server_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

type defectCount = workflowv1.ListDefectCountsResponse_Count

// Every word has a text, and says where it comes from.
func TestServer_ListDefectKinds(t *testing.T) {
	t.Parallel()
	b := setupBureau(t)
	r, err := b.look.ListDefectKinds(t.Context(), &workflowv1.ListDefectKindsRequest{})
	if err != nil || len(r.DefectKinds) < 20 {
		t.Fatalf("ListDefectKinds = %v, %v", r, err)
	}
	for _, k := range r.DefectKinds {
		if !strings.HasSuffix(k.Text, ". Common practice.") {
			t.Errorf("%s: %q", k.Kind, k.Text)
		}
	}
}

// counted lists the counts, a page of a size at a time.
func (b *bureau) counted(t *testing.T, r *workflowv1.ListDefectCountsRequest, size int32) (all []*defectCount) {
	t.Helper()
	r = cloneOf(r)
	for r.PageSize = size; ; {
		resp, err := b.look.ListDefectCounts(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, resp.Counts...)
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			return all
		}
	}
}

// laid says with what, and in which zone, the paint of the present piece is laid.
func (b *bureau) laid(t *testing.T, product id.ID, name, zone string) {
	t.Helper()
	b.alter(t, fmt.Sprintf(`UPDATE stage SET product_id = '%s', product_name = '%s', zone_id = (SELECT id FROM zone WHERE word = '%s') WHERE piece_id = '%s' AND kind = 'paint_coat'`,
		product, name, zone, tail(b.piece.Name)))
}

// How often what was wrong, by what it was laid with, by whom and in what air; what it cost is
// the work of the passes that its fails began, in all that had to be done again, divided over all
// that each fail found.
func TestServer_ListDefectCounts(t *testing.T) {
	t.Parallel()
	b := setupBureau(t)
	nell, odo := b.person(t, "Nell"), b.person(t, "Odo", "inspect")
	b.zone(t, "booth", 21, 55, 0)
	b.reads(t, reading("booth", 200, 24.9, 50))
	b.zone(t, "attic", 34.9, 100, 400)
	enamel, milk := id.New(), id.New()

	b.painted(t, nell, nell, 0)
	b.laid(t, enamel, "old enamel", "booth")
	fails := b.failing(b.inspect(), odo, b.work["sand top"], 90)
	fails.BackTo, fails.Defects = b.work["paint top"], []*workflowv1.Defect{{Kind: "runs"}, {Kind: "runs"}, {Kind: "dust_nibs"}}
	b.records(t, fails)
	b.moves(t, b.works(t, nell, b.work["paint top"], 100, 118), "", 112) // only what counts is rework
	b.writesDown(t, odo, b.work["paint top"], 50, 55)                    // of the first pass: no rework
	b.finishAt(t, b.work["paint top"], 120)
	b.records(t, b.passing(b.inspect(), odo, 130))

	b.painted(t, nell, odo, 200)
	b.laid(t, enamel, "enamel", "booth")
	fails = b.failing(b.inspect(), odo, b.work["paint case"], 290)
	b.records(t, fails)
	if _, err := b.clocks.ClockOn(svctest.Ctx(t), b.clockOn(odo, b.work["paint case"], 300)); err != nil { // not known yet
		t.Fatal(err)
	}

	b.painted(t, nell, nell, 400)
	b.laid(t, milk, "milk paint", "attic")
	fails = b.failing(b.work["paint top"], odo, b.work["paint top"], 490)
	fails.Defects = []*workflowv1.Defect{{Kind: "brush_marks"}}
	b.records(t, fails)
	lets := b.passing(b.work["sand case"], odo, 500) // what is let be is a defect, but no fail
	lets.Defects = []*workflowv1.Defect{{Kind: "sanding_scratches"}}
	b.records(t, lets)

	count := func(kind, by string, defects, failed, inspected int32, rework int) *defectCount {
		return &defectCount{DefectKind: kind, By: by, Defects: defects, Failed: failed, Inspected: inspected, ReworkTime: durationpb.New(time.Duration(rework) * time.Minute)}
	}
	for by, want := range map[workflowv1.ListDefectCountsRequest_By][]*defectCount{
		workflowv1.ListDefectCountsRequest_BY_UNSPECIFIED: {count("runs", "", 3, 2, 5, 8), count("brush_marks", "", 1, 1, 5, 0), count("dust_nibs", "", 1, 1, 5, 4), count("sanding_scratches", "", 1, 0, 5, 0)},
		workflowv1.ListDefectCountsRequest_BY_PRODUCT: {count("runs", "enamel", 3, 2, 3, 8), count("brush_marks", "milk paint", 1, 1, 1, 0),
			count("dust_nibs", "enamel", 1, 1, 3, 4), count("sanding_scratches", "", 1, 0, 1, 0)},
		workflowv1.ListDefectCountsRequest_BY_WORKER: {count("runs", "Nell", 2, 1, 4, 8), count("brush_marks", "Nell", 1, 1, 4, 0), count("dust_nibs", "Nell", 1, 1, 4, 4),
			count("runs", "Odo", 1, 1, 1, 0), count("sanding_scratches", "Nell", 1, 0, 4, 0)},
		workflowv1.ListDefectCountsRequest_BY_AIR: {count("runs", "20 to 25 °C, 50 to 60 %", 3, 2, 3, 8), count("brush_marks", "30 to 35 °C, 90 to 100 %", 1, 1, 1, 0),
			count("dust_nibs", "20 to 25 °C, 50 to 60 %", 1, 1, 3, 4), count("sanding_scratches", "", 1, 0, 1, 0)},
		workflowv1.ListDefectCountsRequest_BY_STAGE_KIND: {count("runs", "paint_coat", 3, 2, 4, 8), count("brush_marks", "paint_coat", 1, 1, 4, 0), count("dust_nibs", "paint_coat", 1, 1, 4, 4),
			count("sanding_scratches", "sand", 1, 0, 1, 0)},
	} {
		for size := int32(1); size <= 6; size++ {
			if diff := cmp.Diff(want, b.counted(t, &workflowv1.ListDefectCountsRequest{By: by}, size), protocmp.Transform()); diff != "" {
				t.Errorf("%s by pages of %d (-want +got):\n%s", by, size, diff)
			}
		}
	}
	part := &workflowv1.ListDefectCountsRequest{By: workflowv1.ListDefectCountsRequest_BY_PRODUCT, FromTime: at(290), ToTime: at(490)}
	if diff := cmp.Diff([]*defectCount{count("runs", "enamel", 1, 1, 1, 0)}, b.counted(t, part, 0), protocmp.Transform()); diff != "" {
		t.Errorf("of a part of the day (-want +got):\n%s", diff)
	}
	svctest.Refused(t, b.Service, b.look.ListDefectCounts, &workflowv1.ListDefectCountsRequest{By: 9}, fault.Invalid, "INVALID_FIELD")
}

// What a fail cost counts once, however much it found: the shares of its defects add up to it.
func TestServer_ListDefectCounts_ReworkCountsOnce(t *testing.T) {
	t.Parallel()
	b := setupBureau(t)
	nell, odo := b.person(t, "Nell"), b.person(t, "Odo", "inspect")
	b.painted(t, nell, nell, 0)
	fails := b.failing(b.inspect(), odo, b.work["paint top"], 90)
	fails.Defects = nil
	for _, kind := range []string{"runs", "sags", "orange_peel", "fish_eye", "dust_nibs", "brush_marks", "lap_marks"} {
		fails.Defects = append(fails.Defects, &workflowv1.Defect{Kind: kind})
	}
	b.records(t, fails)
	b.works(t, nell, b.work["paint top"], 100, 101)
	var sum time.Duration
	for _, c := range b.counted(t, &workflowv1.ListDefectCountsRequest{}, 0) {
		if share := c.ReworkTime.AsDuration(); share != 8571*time.Millisecond && share != 8572*time.Millisecond {
			t.Errorf("of a minute %s has %v, want a seventh", c.DefectKind, share)
		}
		sum += c.ReworkTime.AsDuration()
	}
	if sum != time.Minute {
		t.Errorf("the rework of one minute adds up to %v", sum)
	}
}
