package server_test

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *floor) timeline(t testing.TB, r *workflowv1.ListPieceTimelineRequest) (all []*workflowv1.ListPieceTimelineResponse_Happening) {
	t.Helper()
	for {
		resp, err := f.view().ListPieceTimeline(svctest.Ctx(t), r)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, resp.Happenings...)
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			return all
		}
	}
}

// What happened to a piece is told in sentences and in its order, in pages of any size; what
// happened to others is not among it.
func TestServer_ListPieceTimeline(t *testing.T) {
	t.Parallel()
	d := setupDry(t)
	d.wall.set(120)
	nell := d.person(t, "Nell")
	piece, of := d.drawers(t, 11)
	_, others := d.drawers(t, 12)
	d.saveStation(t, boothFor("booth", 9))
	d.assign(t, assigning(of["dewax left"], nell))
	d.carries(t, piece, "", "booth", 31)
	d.works(t, nell, of["dewax left"], 40, 70)
	d.works(t, nell, others["dewax left"], 71, 72)
	d.finishAt(t, of["dewax left"], 75)
	d.sendBackAt(t, of["dewax left"], 80)
	d.promise(t, piece, at(600), dollars(450))
	want := []string{
		"The work was laid out in 4 stages.",
		"Dewax (left) was given to Nell.",
		"Carried to booth: left and right.",
		"Nell began dewax (left).",
		"Nell stopped at dewax (left) after 0:30.",
		"Dewax (left) was finished.",
		"Dewax (left) was sent back: runs in the coat.",
		"The piece is promised for Mon 2 Mar 2026 19:00 EST, and is worth 450.00 USD.",
	}
	for _, size := range []int32{0, 1, 3} {
		var got []string
		for _, h := range d.timeline(t, &workflowv1.ListPieceTimelineRequest{Piece: piece, PageSize: size}) {
			got = append(got, h.Text)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("the timeline in pages of %d (-want +got):\n%s", size, diff)
		}
	}
	on := d.timeline(t, &workflowv1.ListPieceTimelineRequest{Piece: piece})[3]
	if on.Kind != "clocked_on" || on.Stage != of["dewax left"] || on.Actor != svctest.Actor || !on.Time.AsTime().Equal(at(40).AsTime()) || !on.RecordTime.AsTime().Equal(at(120).AsTime()) {
		t.Errorf("that Nell began = %v", on)
	}
}

// It comes as it was written down, whenever it was: what somebody wrote down later comes later, in
// pages too.
func TestServer_ListPieceTimeline_WrittenDownLater(t *testing.T) {
	t.Parallel()
	d := setupDry(t)
	d.wall.set(120)
	piece, of := d.drawers(t, 11)
	d.finishAt(t, of["dewax right"], 90)
	d.finishAt(t, of["polish right"], 95)
	d.wall.set(125)
	d.finishAt(t, of["dewax left"], 30)
	for _, size := range []int32{0, 1, 2} {
		all := d.timeline(t, &workflowv1.ListPieceTimelineRequest{Piece: piece, PageSize: size})
		var times, written []int
		for _, h := range all {
			times = append(times, int(h.Time.AsTime().Sub(morning).Minutes()))
			written = append(written, int(h.RecordTime.AsTime().Sub(morning).Minutes()))
		}
		if want := []int{0, 90, 95, 30}; !slices.Equal(times, want) || !slices.Equal(written, []int{120, 120, 120, 125}) {
			t.Errorf("in pages of %d it tells of the minutes %v, want %v, written down at %v", size, times, want, written)
		}
	}
}

func TestServer_ListPieceTimeline_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	svctest.Refused(t, f.Service, f.view().ListPieceTimeline, &workflowv1.ListPieceTimelineRequest{Piece: id.Name("pieces", id.New())}, fault.NotFound, "PIECE_NOT_FOUND")
	svctest.Refused(t, f.Service, f.view().ListPieceTimeline, &workflowv1.ListPieceTimelineRequest{Piece: "11"}, fault.Invalid, "INVALID_NAME")
	p := f.intake.add("top")
	svctest.Refused(t, f.Service, f.view().ListPieceTimeline, &workflowv1.ListPieceTimelineRequest{Piece: p.Name, PageToken: "?"}, fault.Invalid, "INVALID_PAGE_TOKEN")
	if all := f.timeline(t, &workflowv1.ListPieceTimelineRequest{Piece: p.Name}); len(all) != 0 {
		t.Errorf("of a piece to which nothing happened yet: %v", all)
	}
}
