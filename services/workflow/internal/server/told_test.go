package server_test

import (
	"strings"
	"testing"

	"tackfree/pkg/svctest"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// What a piece is said to be worth is told to leads and owners: in a field, in a sentence, and as it happens. A helper
// is told of the promise all the same.
func TestServer_TellsWorthToLeads(t *testing.T) {
	t.Parallel()
	f := setupWith(t, svctest.Options{SignIn: true})
	piece := f.intake.add("top").Name
	view := workflowv1.NewFloorServiceClient(f.Edge)
	for role, told := range map[typev1.Role]bool{typev1.Role_ROLE_HELPER: false, typev1.Role_ROLE_LEAD: true, typev1.Role_ROLE_OWNER: true} {
		watch, err := view.WatchFloor(f.As(t, role), &workflowv1.WatchFloorRequest{})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := watch.Recv(); err != nil { // where it begins
			t.Fatal(err)
		}
		if _, err := f.stages.PromisePiece(svctest.Ctx(t), promising(piece, at(600), dollars(450+int64(role)))); err != nil {
			t.Fatal(err)
		}
		now, err := watch.Recv()
		if p := now.GetEvent().GetPiecePromised(); err != nil || p.GetPromiseTime() == nil || (p.GetValue() != nil) != told || !strings.Contains(now.GetText(), "promised for") || strings.Contains(now.GetText(), "worth") != told {
			t.Errorf("%v watches %v, %v; worth: want %v", role, now, err, told)
		}
		r, err := view.ListPieceTimeline(f.As(t, role), &workflowv1.ListPieceTimelineRequest{Piece: piece})
		if err != nil || len(r.GetHappenings()) == 0 {
			t.Fatalf("the timeline for %v: %v, %v", role, r, err)
		}
		for _, h := range r.Happenings {
			if !strings.Contains(h.Text, "promised for") || strings.Contains(h.Text, "worth") != told {
				t.Errorf("%v reads %q; worth: want %v", role, h.Text, told)
			}
		}
	}
}
