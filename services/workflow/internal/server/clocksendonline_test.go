package server_test

import (
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// What a phone kept and nobody could have begun at the shop is put to the lead with the sentence
// that they would have read there; once the lead says that it was done, it counts.
func TestServer_SendClockEntry_RefusedOnline(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell", "strip"), f.person(t, "Ira", "strip")
	_, stages := f.planned(t)
	_, others := f.planned(t)
	untested := f.intake.add("top")
	plan, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: untested.Name, Route: "routes/painted", PlanTime: at(0)})
	if err != nil {
		t.Fatal(err)
	}
	f.know(plan.Stages)
	f.assign(t, assigning(stages["strip case"].Name, ira))
	f.alter(t, "UPDATE piece SET scrapped = true, scrapped_at = '"+at(10).AsTime().Format(time.RFC3339)+"' WHERE id = '"+others["strip top"].Name[7:43]+"'")
	unread := sent(nell, stages["strip top"].Name, 60, 70)
	unread.AcknowledgedCautions = []string{}
	for i, c := range []struct {
		r    *workflowv1.SendClockEntryRequest
		says string
	}{
		{sent(nell, others["strip top"].Name, 0, 20), "was scrapped on Mon 2 Mar 2026 09:10 EST"},
		{sent(nell, stages["sand top"].Name, 20, 30), "not finished before it: strip (top)"},
		{sent(nell, stages["strip case"].Name, 30, 40), "is Ira's. Assign it to Nell first"},
		{sent(nell, plan.Stages[0].Name, 40, 50), "was not tested for lead"},
		{unread, "has cautions that Nell has not said to have read"},
	} {
		review := f.send(t, c.r).ClockReview
		open := f.reviews(t, false)
		if len(open) != 1 || open[0].Kind != workflowv1.ClockReview_KIND_REFUSED {
			t.Fatalf("case %d: reviews = %v, want one of what would have been refused", i, open)
		}
		says(t, &fault.Fault{Text: open[0].Reason}, c.says)
		f.settle(t, accepted(review, false))
	}
	f.send(t, sent(nell, others["strip top"].Name, -20, 0)) // before it was scrapped
	sameTimes(t, "Nell", f.counts(t, nell), [2]int{-20, 0}, [2]int{0, 20}, [2]int{20, 30}, [2]int{30, 40}, [2]int{40, 50}, [2]int{60, 70})
}

// Of a batch each stage is asked; what the phone says to have read holds for each that warns of it.
func TestServer_SendClockEntry_RefusedOnline_Batch(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, one := f.planned(t)
	_, other := f.planned(t)
	b := f.formed(t, one["strip top"].Name, other["strip case"].Name)
	kept := sent(nell, "", 0, 60)
	kept.Batch = b.Name
	f.settle(t, dismissed(f.send(t, kept).ClockReview))
	kept.RequestId, kept.AcknowledgedCautions = svctest.NewID(), f.cautions[one["strip top"].Name]
	if got := f.send(t, kept); len(got.ClockEntries) != 2 {
		t.Errorf("sent = %v, want two stages", got)
	}
}

// readings are all cautions that anybody is down for as having read, in their order.
func (f *floor) readings(t *testing.T) (all []string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), f.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close(t.Context()) }()
	if err := conn.QueryRow(t.Context(), `SELECT coalesce(array_agg(c ORDER BY c), '{}') FROM workflow.acknowledgement, unnest(cautions) AS c`).Scan(&all); err != nil {
		t.Fatal(err)
	}
	return all
}

// Of what a device says to have been read that is kept which the stage warns of, and words are words.
func TestServer_SendClockEntry_KeepsKnownCautions(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	r := sent(nell, strip, 0, 30)
	r.AcknowledgedCautions = append(slices.Clone(f.cautions[strip]), "dragons")
	f.send(t, r)
	f.send(t, &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Stage: strip, StartTime: at(30), EndTime: at(40), AcknowledgedCautions: []string{}, Device: "phone", DeviceTime: timestamppb.Now()})
	if kept, want := f.readings(t), slices.Sorted(slices.Values(f.cautions[strip])); !slices.Equal(kept, want) {
		t.Errorf("kept as read: %v, want %v", kept, want)
	}
	long := sent(nell, strip, 50, 60)
	long.AcknowledgedCautions = []string{"dust-and-more-dust-and-more-dust-and-more"}
	svctest.Refused(t, f.Service, f.clocks.SendClockEntry, long, fault.Invalid, "INVALID_FIELD")
}

// What fits only once the clock before it was ended counts in the name of who sent it.
func TestServer_SendClockEntry_FitsLater(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	on := f.on(t, nell, stages["strip top"].Name, 0)
	f.send(t, sent(nell, stages["strip case"].Name, 60, 120))
	end := &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, ClockEntry: on.Name, EndTime: at(60), Device: "phone", DeviceTime: timestamppb.Now()}
	if _, err := f.clocks.SendClockEntry(caller.With(t.Context(), caller.Caller{Actor: "Wes"}), end); err != nil {
		t.Fatal(err)
	}
	if e := f.entries(t, nell)[1]; e.Actor != svctest.Actor || !e.StartTime.AsTime().Equal(at(60).AsTime()) {
		t.Errorf("entry = %v, want it of who sent it", e)
	}
	if all := f.reviews(t, true); len(all) != 1 || all[0].SettledBy != svctest.Actor {
		t.Errorf("reviews = %v, want it settled for who sent it", all)
	}
	for _, e := range f.Events(t)[len(f.Events(t))-2:] {
		if e.Actor != svctest.Actor {
			t.Errorf("event = %v, want it of who sent what it tells of", e)
		}
	}
}

// When the lead takes away what it contradicted, the rest is theirs to decide, too: the next entry
// that happens to come in settles nothing.
func TestServer_SendClockEntry_LeftToTheLead(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	online := f.works(t, nell, stages["strip top"].Name, 0, 60)
	f.send(t, sent(nell, stages["strip case"].Name, 20, 40))
	if _, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), correct(online.Name, "it never was")); err != nil {
		t.Fatal(err)
	}
	f.send(t, sent(nell, stages["strip top"].Name, 100, 110))
	if open := f.reviews(t, false); len(open) != 1 {
		t.Errorf("reviews = %v, want it to wait for the lead", open)
	}
	sameTimes(t, "Nell", f.counts(t, nell), [2]int{100, 110})
}
