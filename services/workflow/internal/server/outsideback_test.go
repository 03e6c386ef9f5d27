package server_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// What came back undone leaves its stage open, and is not billed unless somebody says so; it can
// go out again. A piece that was given up meanwhile is received all the same, with its bill, but
// does not go out any more.
func TestServer_ReceiveOutsideWork_WithoutFinishing(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	off := receiving(a.sends(t, a.sending(70)).Name, 80)
	off.CalledOff = true
	if got := a.receives(t, off); got.State != workflowv1.OutsideWork_STATE_CALLED_OFF || got.Billed != nil {
		t.Errorf("called off = %v", got)
	}
	if e := a.Last(t).GetOutsideWorkReceived(); !e.GetCalledOff() || e.Billed != nil || e.Pass != 1 {
		t.Errorf("event = %v", e)
	}
	a.is(t, a.work["cane top"], workflowv1.Stage_STATE_READY, 1)

	again := a.sends(t, a.sending(80)) // in the very minute
	svctest.Refused(t, a.Service, a.out.ReceiveOutsideWork, receiving(again.Name, 79), fault.Invalid, "BACK_BEFORE_SENT")
	eur := receiving(again.Name, 90)
	eur.Billed = &money.Money{CurrencyCode: "EUR", Units: 85}
	svctest.Refused(t, a.Service, a.out.ReceiveOutsideWork, eur, fault.Invalid, "CURRENCY_NOT_THE_SHOPS")
	svctest.Refused(t, a.Service, a.out.ReceiveOutsideWork, receiving(id.Name("outsideWork", id.New()), 90), fault.NotFound, "OUTSIDE_WORK_NOT_FOUND")
	svctest.Refused(t, a.Service, a.out.ReceiveOutsideWork, receiving(again.Name, 1000), fault.Invalid, "TIME_IN_FUTURE")

	a.sendBackAt(t, a.work["paint top"], 85) // which may be done while it is out
	if got := a.receives(t, receiving(again.Name, 90)); got.State != workflowv1.OutsideWork_STATE_BACK || got.Billed.Units != 85 {
		t.Errorf("received = %v", got)
	}
	a.is(t, a.work["cane top"], workflowv1.Stage_STATE_WAITING, 1)

	lid := a.sending(95)
	lid.Part, lid.Stage = "", ""
	whole := a.sends(t, lid)
	a.alter(t, fmt.Sprintf(`UPDATE piece SET scrapped = true WHERE id = '%s'`, tail(a.piece.Name)))
	billed := receiving(whole.Name, 100)
	billed.Billed = usd(40)
	if got := a.receives(t, billed); got.Billed.Units != 40 || got.Part != "" {
		t.Errorf("of a scrapped piece = %v", got)
	}
	svctest.Refused(t, a.Service, a.out.SendOut, a.sending(110), fault.Precondition, "PIECE_SCRAPPED")
}

// Rework that others do is billed to its pass.
func TestServer_ReceiveOutsideWork_OfALaterPass(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	a.receives(t, receiving(a.sends(t, a.sending(70)).Name, 80))
	a.sendBackAt(t, a.work["cane top"], 90)
	a.receives(t, receiving(a.sends(t, a.sending(100)).Name, 110))
	received, finished := a.lastTwo(t)
	if received.GetOutsideWorkReceived().GetPass() != 2 || finished.GetStageFinished().GetPass() != 2 {
		t.Errorf("events = %v, %v", received, finished)
	}
}

// A piece that nobody planned can go out too.
func TestServer_SendOut_OfAnUnplannedPiece(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	mirror := a.intake.add("glass", "frame")
	r := a.sending(70)
	r.Piece, r.Part, r.Stage, r.Kind = mirror.Name, mirror.Parts[0].Name, "", "mirror"
	if sent := a.sends(t, r); sent.PartLabel != "glass" || sent.Stage != "" || a.Last(t).Version != 1 {
		t.Errorf("sent = %v", sent)
	}
	r = a.sending(80)
	r.Piece, r.Part, r.Stage = mirror.Name, "", ""
	svctest.Refused(t, a.Service, a.out.SendOut, r, fault.Precondition, "PART_AWAY")
}

func TestServer_CorrectOutsideBill(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	sent := a.sends(t, a.sending(70))
	correcting := func(units int64) *workflowv1.CorrectOutsideBillRequest {
		return &workflowv1.CorrectOutsideBillRequest{RequestId: svctest.NewID(), OutsideWork: sent.Name, Billed: usd(units), Reason: "they forgot the braid"}
	}
	svctest.Refused(t, a.Service, a.out.CorrectOutsideBill, correcting(95), fault.Precondition, "OUTSIDE_WORK_NOT_BACK")
	a.receives(t, receiving(sent.Name, 80))
	svctest.Refused(t, a.Service, a.out.CorrectOutsideBill, correcting(85), fault.Invalid, "CORRECTION_CHANGES_NOTHING")
	eur := correcting(95)
	eur.Billed.CurrencyCode = "EUR"
	svctest.Refused(t, a.Service, a.out.CorrectOutsideBill, eur, fault.Invalid, "CURRENCY_NOT_THE_SHOPS")
	unknown := correcting(95)
	unknown.OutsideWork = id.Name("outsideWork", id.New())
	svctest.Refused(t, a.Service, a.out.CorrectOutsideBill, unknown, fault.NotFound, "OUTSIDE_WORK_NOT_FOUND")
	resp, err := a.out.CorrectOutsideBill(svctest.Ctx(t), correcting(95))
	if err != nil || resp.OutsideWork.Billed.Units != 95 || resp.OutsideWork.Quoted.Units != 85 {
		t.Fatalf("CorrectOutsideBill = %v, %v", resp, err)
	}
	want := &eventsv1.OutsideBillCorrected{OutsideWorkId: tail(sent.Name), Before: usd(85), After: usd(95), Reason: "they forgot the braid", Pass: 1, Kind: "caning", Firm: "Weber & Daughter"}
	if diff := cmp.Diff(want, a.Last(t).GetOutsideBillCorrected(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
}

// Work that nobody quoted or billed is listed as such until its bill comes, be it one of nothing;
// what was called off is not.
func TestServer_CorrectOutsideBill_TheFirst(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	sendsUnquoted := func(minute int) string {
		t.Helper()
		r := a.sending(minute)
		r.Part, r.Stage, r.Quoted = "", "", nil
		return a.sends(t, r).Name
	}
	off := receiving(sendsUnquoted(70), 80)
	off.CalledOff = true
	a.receives(t, off)
	a.receives(t, receiving(a.sends(t, a.sending(85)).Name, 90)) // as quoted
	work := sendsUnquoted(95)
	unbilled := func(want ...string) {
		t.Helper()
		var got []string
		for _, o := range a.listed(t, &workflowv1.ListOutsideWorkRequest{UnbilledOnly: true}) {
			got = append(got, o.Name)
		}
		if !slices.Equal(got, want) {
			t.Errorf("without a bill: %v, want %v", got, want)
		}
	}
	unbilled()
	if got := a.receives(t, receiving(work, 100)); got.Billed != nil {
		t.Errorf("received, with a bill of %v", got.Billed)
	}
	unbilled(work)
	first := &workflowv1.CorrectOutsideBillRequest{RequestId: svctest.NewID(), OutsideWork: work, Billed: usd(0), Reason: "a favour"}
	resp, err := a.out.CorrectOutsideBill(svctest.Ctx(t), first)
	if err != nil || resp.OutsideWork.Billed == nil {
		t.Fatalf("CorrectOutsideBill = %v, %v", resp, err)
	}
	unbilled()
	want := &eventsv1.OutsideBillCorrected{OutsideWorkId: tail(work), After: usd(0), Reason: "a favour", Pass: 1, Kind: "caning", Firm: "Weber & Daughter"}
	if diff := cmp.Diff(want, a.Last(t).GetOutsideBillCorrected(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
}

// What is due first comes first; what is back only if somebody asks, and of one piece or all.
func TestServer_ListOutsideWork(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	send := func(piece *intakev1.Piece, due *date.Date) string {
		t.Helper()
		r := a.sending(70)
		r.Piece, r.Part, r.Stage, r.DueDate = piece.Name, "", "", due
		return a.sends(t, r).Name
	}
	late, soon, alike, done := send(a.intake.add("lid"), march(20)), send(a.piece, march(4)), send(a.intake.add("lid"), march(20)), send(a.intake.add("lid"), march(2))
	a.receives(t, receiving(done, 80))
	for _, c := range []struct {
		r    *workflowv1.ListOutsideWorkRequest
		want []string
	}{
		{&workflowv1.ListOutsideWorkRequest{}, []string{soon, late, alike}},
		{&workflowv1.ListOutsideWorkRequest{IncludeBack: true}, []string{done, soon, late, alike}},
		{&workflowv1.ListOutsideWorkRequest{Piece: a.piece.Name}, []string{soon}},
		{&workflowv1.ListOutsideWorkRequest{OverdueOnly: true, IncludeBack: true}, nil},
	} {
		for size := int32(1); size <= 5; size++ {
			var got []string
			for r := cloneOf(c.r); ; {
				r.PageSize = size
				resp, err := a.out.ListOutsideWork(t.Context(), r)
				if err != nil {
					t.Fatal(err)
				}
				for _, o := range resp.OutsideWork {
					got = append(got, o.Name)
				}
				if r.PageToken = resp.NextPageToken; r.PageToken == "" {
					break
				}
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("ListOutsideWork(%v) by %d = %v, want %v", c.r, size, got, c.want)
			}
		}
	}
	a.wall.set(4 * 24 * 60)
	if got := a.listed(t, &workflowv1.ListOutsideWorkRequest{OverdueOnly: true, IncludeBack: true}); len(got) != 1 || got[0].Name != soon {
		t.Errorf("overdue: %v", got)
	}
}

// However many send it out, or take it back, at once, it goes and comes once.
func TestServer_OutsideWork_AtOnce(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	race := func(reason string, command func() error) {
		t.Helper()
		errs := make(chan error, 6)
		for range cap(errs) {
			go func() { errs <- command() }()
		}
		done := 0
		for range cap(errs) {
			if err := <-errs; err == nil {
				done++
			} else if !fault.Is(err, reason) {
				t.Errorf("refused with %v, want %s", err, reason)
			}
		}
		if done != 1 {
			t.Errorf("%d were let, want 1", done)
		}
	}
	race("PART_AWAY", func() error {
		_, err := a.out.SendOut(svctest.Ctx(t), a.sending(70))
		return err
	})
	sent := a.listed(t, &workflowv1.ListOutsideWorkRequest{})[0]
	race("OUTSIDE_WORK_BACK", func() error {
		_, err := a.out.ReceiveOutsideWork(svctest.Ctx(t), receiving(sent.Name, 80))
		return err
	})
}

// A stage that was given to others stays in the finish plan, though it was called off.
func TestServer_AmendFinishPlan_GivenToOthers(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	d := a.dresser()
	plan, stages := a.approved(t, d)
	first := plan.Stages[0]
	stage := stages[title(first.Key, first.PartLabel)]
	r := a.sending(70)
	r.Piece, r.Part, r.Stage = stage.Name[:43], stage.Part, stage.Name
	sent := a.sends(t, r)
	left := amending(r.Piece, without(cloned(plan.Stages), title(first.Key, first.PartLabel)))
	svctest.Refused(t, a.Service, a.plans.AmendFinishPlan, left, fault.Precondition, "STAGE_BEGUN")
	off := receiving(sent.Name, 80)
	off.CalledOff = true
	a.receives(t, off)
	svctest.Refused(t, a.Service, a.plans.AmendFinishPlan, left, fault.Precondition, "STAGE_BEGUN")
}
