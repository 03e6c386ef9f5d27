package server_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/fieldmaskpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/bus"
	"tackfree/pkg/bustest"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"

	"google.golang.org/protobuf/proto"
)

func TestServer_AddPerson(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip", "spray")
	got, err := f.people.GetPerson(t.Context(), &workflowv1.GetPersonRequest{Name: nell})
	if err != nil {
		t.Fatal(err)
	}
	want := &workflowv1.Person{Name: nell, DisplayName: "Nell", Skills: []string{"strip", "spray"}, Role: typev1.Role_ROLE_HELPER, Etag: `"1"`}
	if diff := cmp.Diff(want, got.Person, protocmp.Transform()); diff != "" {
		t.Errorf("GetPerson (-want +got):\n%s", diff)
	}
	if e := f.Last(t); e.AggregateKind != "person" || e.Version != 1 || e.PieceId != "" || e.GetPersonAdded().GetDisplayName() != "Nell" {
		t.Errorf("event = %v", e)
	}
	taken := &workflowv1.AddPersonRequest{RequestId: svctest.NewID(), DisplayName: " NELL"}
	svctest.Refused(t, f.Service, f.people.AddPerson, taken, fault.Exists, "PERSON_NAME_TAKEN")
	svctest.Refused(t, f.Service, f.people.AddPerson, &workflowv1.AddPersonRequest{RequestId: svctest.NewID()}, fault.Invalid, "INVALID_FIELD")
	svctest.Refused(t, f.Service, f.people.GetPerson, &workflowv1.GetPersonRequest{Name: id.Name("people", id.New())}, fault.NotFound, "PERSON_NOT_FOUND")
}

func update(person *workflowv1.Person, paths ...string) *workflowv1.UpdatePersonRequest {
	return &workflowv1.UpdatePersonRequest{RequestId: svctest.NewID(), Person: person, UpdateMask: &fieldmaskpb.FieldMask{Paths: paths}}
}

func TestServer_UpdatePerson(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	f.person(t, "Ira")
	r, err := f.people.UpdatePerson(svctest.Ctx(t), update(&workflowv1.Person{Name: nell, Skills: []string{"strip", "inspect"}, Etag: `"1"`}, "skills"))
	if err != nil {
		t.Fatal(err)
	}
	want := &workflowv1.Person{Name: nell, DisplayName: "Nell", Skills: []string{"strip", "inspect"}, Role: typev1.Role_ROLE_HELPER, Etag: `"2"`}
	if diff := cmp.Diff(want, r.Person, protocmp.Transform()); diff != "" {
		t.Errorf("UpdatePerson (-want +got):\n%s", diff)
	}
	if e := f.Last(t); e.Version != 2 || len(e.GetPersonChanged().GetSkills()) != 2 {
		t.Errorf("event = %v", e)
	}
	if r, err = f.people.UpdatePerson(svctest.Ctx(t), update(&workflowv1.Person{Name: nell}, "skills")); err != nil || len(r.Person.Skills) != 0 {
		t.Errorf("taking all skills away = %v, %v", r, err)
	}
	refused := func(r *workflowv1.UpdatePersonRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, f.Service, f.people.UpdatePerson, r, kind, reason)
	}
	refused(update(&workflowv1.Person{Name: nell, DisplayName: "ira"}, "display_name"), fault.Exists, "PERSON_NAME_TAKEN")
	refused(update(&workflowv1.Person{Name: nell, DisplayName: " "}, "display_name"), fault.Invalid, "INVALID_FIELD")
	refused(update(&workflowv1.Person{Name: nell}, "wage"), fault.Invalid, "FIELD_UNKNOWN")
	refused(update(&workflowv1.Person{Name: nell}), fault.Invalid, "FIELD_UNKNOWN")
	refused(update(&workflowv1.Person{Name: nell, Etag: `"1"`}, "skills"), fault.Conflict, "ETAG_MISMATCH")
	refused(update(&workflowv1.Person{Name: id.Name("people", id.New())}, "skills"), fault.NotFound, "PERSON_NOT_FOUND")
}

func TestServer_SaveRoute(t *testing.T) {
	t.Parallel()
	f := setup(t)
	first, err := f.routes.SaveRoute(svctest.Ctx(t), saveRoute(step("strip", "strip"), step("sand", "", "strip")))
	if err != nil {
		t.Fatal(err)
	}
	second, err := f.routes.SaveRoute(svctest.Ctx(t), saveRoute(step("clean", "")))
	if err != nil {
		t.Fatal(err)
	}
	got, err := f.routes.GetRoute(t.Context(), &workflowv1.GetRouteRequest{Name: "routes/painted"})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(second.Route, got.Route, protocmp.Transform()); diff != "" {
		t.Errorf("GetRoute differs from the last save:\n%s", diff)
	}
	stale := saveRoute(step("sand", ""))
	stale.Route.Etag = first.Route.Etag
	svctest.Refused(t, f.Service, f.routes.SaveRoute, stale, fault.Conflict, "ETAG_MISMATCH")
	svctest.Refused(t, f.Service, f.routes.SaveRoute, saveRoute(step("sand", "", "strip")), fault.Invalid, "ROUTE_STEP_UNKNOWN")
	svctest.Refused(t, f.Service, f.routes.SaveRoute, saveRoute(step("a", "", "b"), step("b", "", "a")), fault.Invalid, "ROUTE_GOES_ROUND")
	svctest.Refused(t, f.Service, f.routes.SaveRoute, saveRoute(&workflowv1.Step{Key: "x", Kind: "Big Sand", Scope: workflowv1.Step_SCOPE_PART}), fault.Invalid, "INVALID_FIELD")
	svctest.Refused(t, f.Service, f.routes.GetRoute, &workflowv1.GetRouteRequest{Name: "routes/none"}, fault.NotFound, "ROUTE_NOT_FOUND")
}

func TestServer_PlanStages(t *testing.T) {
	t.Parallel()
	f := setup(t)
	piece, stages := f.planned(t)
	if len(stages) != 6 {
		t.Fatalf("%d stages, want 6", len(stages))
	}
	if s := stages["sand case"]; s.State != workflowv1.Stage_STATE_WAITING || len(s.After) != 1 || s.After[0] != stages["strip case"].Name || s.Pass != 1 {
		t.Errorf("sand of the case = %v", s)
	}
	list, err := f.stages.ListStages(t.Context(), &workflowv1.ListStagesRequest{Piece: piece})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range list.Stages {
		if diff := cmp.Diff(stages[s.Key+" "+s.PartLabel], s, protocmp.Transform()); diff != "" {
			t.Errorf("listed stage differs from the planned one:\n%s", diff)
		}
	}
	if e := f.Last(t).GetStagesPlanned(); len(e.GetStages()) != 6 || e.GetRoute() != "painted" {
		t.Errorf("event = %v", e)
	}
	again := &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: piece, Route: "routes/painted"}
	svctest.Refused(t, f.Service, f.stages.PlanStages, again, fault.Precondition, "PIECE_ALREADY_PLANNED")
}

func TestServer_PlanStages_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.planned(t)
	p := f.intake.add("seat")
	plan := func(change func(*workflowv1.PlanStagesRequest)) *workflowv1.PlanStagesRequest {
		r := &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/painted"}
		change(r)
		return r
	}
	refused := func(r *workflowv1.PlanStagesRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, f.Service, f.stages.PlanStages, r, kind, reason)
	}
	refused(plan(func(r *workflowv1.PlanStagesRequest) { r.Piece = id.Name("pieces", id.New()) }), fault.NotFound, "PIECE_NOT_FOUND")
	refused(plan(func(r *workflowv1.PlanStagesRequest) { r.Route = "routes/none" }), fault.NotFound, "ROUTE_NOT_FOUND")
	refused(plan(func(r *workflowv1.PlanStagesRequest) { r.Route = "" }), fault.Invalid, "ROUTE_MISSING")
	refused(f.planInCircles(t), fault.Invalid, "ROUTES_GO_ROUND")
	refused(plan(func(r *workflowv1.PlanStagesRequest) {
		r.Parts = []*workflowv1.PlanStagesRequest_PartRoute{{Part: p.Name + "/parts/" + id.New().String(), Route: "routes/painted"}}
	}), fault.Invalid, "PART_UNKNOWN")
	p.State = intakev1.Piece_STATE_SCRAPPED
	refused(plan(func(*workflowv1.PlanStagesRequest) {}), fault.Precondition, "PIECE_SCRAPPED")
}

// planInCircles asks for routes that contradict each other where the parts meet.
func (f *floor) planInCircles(t *testing.T) *workflowv1.PlanStagesRequest {
	t.Helper()
	p := f.intake.add("top", "case")
	for i, keys := range [][2]string{{"wax", "inspect"}, {"inspect", "wax"}} {
		first, second := step(keys[0], ""), step(keys[1], "", keys[0])
		first.Scope, second.Scope = workflowv1.Step_SCOPE_PIECE, workflowv1.Step_SCOPE_PIECE
		r := saveRoute(first, second)
		r.Route.Name = []string{"routes/one", "routes/other"}[i]
		if _, err := f.routes.SaveRoute(svctest.Ctx(t), r); err != nil {
			t.Fatal(err)
		}
	}
	return &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Parts: []*workflowv1.PlanStagesRequest_PartRoute{
		{Part: p.Parts[0].Name, Route: "routes/one"}, {Part: p.Parts[1].Name, Route: "routes/other"}}}
}

// A plan that was made is answered as it was, whatever intake says now.
func TestServer_PlanStages_AskedAgain(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.planned(t)
	p := f.intake.add("seat")
	r := &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/painted"}
	first, err := f.stages.PlanStages(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	p.State = intakev1.Piece_STATE_SCRAPPED
	again, err := f.stages.PlanStages(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(first, again, protocmp.Transform()); diff != "" {
		t.Errorf("the second answer differs:\n%s", diff)
	}
}

func TestServer_ListStages_UnknownPiece(t *testing.T) {
	t.Parallel()
	f := setup(t)
	p := f.intake.add("seat")
	if r, err := f.stages.ListStages(t.Context(), &workflowv1.ListStagesRequest{Piece: p.Name}); err != nil || len(r.Stages) != 0 {
		t.Errorf("ListStages of a piece without a plan = %v, %v", r, err)
	}
	svctest.Refused(t, f.Service, f.stages.ListStages, &workflowv1.ListStagesRequest{Piece: id.Name("pieces", id.New())}, fault.NotFound, "PIECE_NOT_FOUND")
}

func finishing(stage string, minute int) *workflowv1.FinishStageRequest {
	return &workflowv1.FinishStageRequest{RequestId: svctest.NewID(), Stage: stage, FinishTime: at(minute)}
}

func sendingBack(stage string, minute int) *workflowv1.SendBackStageRequest {
	return &workflowv1.SendBackStageRequest{RequestId: svctest.NewID(), Stage: stage, Reason: "runs in the coat", SendBackTime: at(minute)}
}

func TestServer_FinishAndSendBack(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	strip, sand, coat := stages["strip top"].Name, stages["sand top"].Name, stages["coat top"].Name
	svctest.Refused(t, f.Service, f.stages.FinishStage, finishing(sand, 60), fault.Precondition, "STAGE_NOT_READY")
	svctest.Refused(t, f.Service, f.stages.SendBackStage, sendingBack(strip, 60), fault.Precondition, "STAGE_NOT_FINISHED")
	for _, s := range []string{strip, sand, coat} {
		f.finish(t, s)
	}
	svctest.Refused(t, f.Service, f.stages.FinishStage, finishing(strip, 60), fault.Precondition, "STAGE_FINISHED")
	opened := f.sendBackAt(t, sand, 601)
	if len(opened) != 2 || opened[0].Name != sand || opened[0].Pass != 2 || opened[0].State != workflowv1.Stage_STATE_READY ||
		opened[1].Name != coat || opened[1].State != workflowv1.Stage_STATE_WAITING {
		t.Errorf("SendBackStage opened %v", opened)
	}
	for _, s := range opened {
		if diff := cmp.Diff([]*timestamppb.Timestamp{at(601)}, s.SendBackTimes, protocmp.Transform()); diff != "" {
			t.Errorf("%s was sent back (-want +got):\n%s", s.Key, diff)
		}
	}
	want := &eventsv1.StageSentBack{StageId: sand[len(sand)-36:], Reason: "runs in the coat", Reopened: []*eventsv1.StageSentBack_Reopened{
		{StageId: sand[len(sand)-36:], Kind: "sand", Pass: 2}, {StageId: coat[len(coat)-36:], Kind: "coat", Pass: 2}}}
	if diff := cmp.Diff(want, f.Last(t).GetStageSentBack(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
	// From now on it is rework.
	if e := f.works(t, nell, sand, 610, 630); e.Pass != 2 {
		t.Errorf("entry is of pass %d, want 2", e.Pass)
	}
}

// Times follow one another: the work, the finish, the send-back, and the same again.
func TestServer_FinishAndSendBack_Times(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	finish := func(minute int, reason string, words ...string) {
		t.Helper()
		says(t, svctest.Refused(t, f.Service, f.stages.FinishStage, finishing(strip, minute), fault.Invalid, reason), words...)
	}
	finish(-61, "TIME_BEFORE_INTAKE", "Piece 7", "Mon 2 Mar 2026 08:00 EST", "Mon 2 Mar 2026 07:59 EST")
	f.works(t, nell, strip, 0, 60)
	finish(59, "FINISH_BEFORE_WORK", "Nell", "strip (top)", "Mon 2 Mar 2026 10:00 EST", "Mon 2 Mar 2026 09:59 EST")
	f.finishAt(t, strip, 60)
	early := svctest.Refused(t, f.Service, f.stages.SendBackStage, sendingBack(strip, 59), fault.Invalid, "SEND_BACK_BEFORE_FINISH")
	says(t, early, "strip (top)", "Mon 2 Mar 2026 10:00 EST", "Mon 2 Mar 2026 09:59 EST")
	f.sendBackAt(t, strip, 90)
	finish(89, "FINISH_BEFORE_WORK", "sent back", "Mon 2 Mar 2026 10:30 EST")
	f.works(t, nell, strip, 70, 85) // of the first pass, which holds up no finish of the second
	f.finishAt(t, strip, 90)
	if s := f.sendBackAt(t, strip, 90)[0]; s.Pass != 3 || len(s.SendBackTimes) != 2 {
		t.Errorf("sent back twice: %v", s)
	}
}

func TestServer_StageWithAnOpenClock(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(nell, strip, 0)); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, f.Service, f.stages.FinishStage, finishing(strip, 60), fault.Precondition, "STAGE_HAS_OPEN_CLOCK")
	away := &workflowv1.AssignStageRequest{RequestId: svctest.NewID(), Stage: strip, Person: nell}
	svctest.Refused(t, f.Service, f.stages.AssignStage, away, fault.Precondition, "STAGE_HAS_OPEN_CLOCK")
	got, err := f.stages.GetStage(t.Context(), &workflowv1.GetStageRequest{Name: strip})
	if err != nil || got.Stage.State != workflowv1.Stage_STATE_IN_WORK {
		t.Errorf("GetStage = %v, %v, want in work", got, err)
	}
}

func TestServer_AssignStage(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell", "strip"), f.person(t, "Ira")
	_, stages := f.planned(t)
	assign := func(stage, person string) *workflowv1.AssignStageRequest {
		return &workflowv1.AssignStageRequest{RequestId: svctest.NewID(), Stage: stage, Person: person}
	}
	resp, err := f.stages.AssignStage(svctest.Ctx(t), assign(stages["strip top"].Name, nell))
	if err != nil || resp.Stage.AssigneeName != "Nell" || resp.Stage.Assignee != nell {
		t.Fatalf("AssignStage = %v, %v", resp, err)
	}
	if resp, err = f.stages.AssignStage(svctest.Ctx(t), assign(stages["strip top"].Name, "")); err != nil || resp.Stage.Assignee != "" {
		t.Errorf("taking it back = %v, %v", resp, err)
	}
	if e := f.Last(t).GetStageAssigned(); e == nil || e.PersonId != "" {
		t.Errorf("event = %v", e)
	}
	svctest.Refused(t, f.Service, f.stages.AssignStage, assign(stages["strip top"].Name, ira), fault.Precondition, "SKILL_MISSING")
	svctest.Refused(t, f.Service, f.stages.AssignStage, assign(stages["strip top"].Name, id.Name("people", id.New())), fault.NotFound, "PERSON_NOT_FOUND")
	svctest.Refused(t, f.Service, f.stages.AssignStage, assign(stages["strip top"].Name[:43]+"/stages/"+id.New().String(), nell), fault.NotFound, "STAGE_NOT_FOUND")
}

// A scrap in intake ends the work on the floor, whether the floor knew the piece or not.
func TestServer_PieceScrappedInIntake(t *testing.T) {
	t.Parallel()
	broker := bustest.Start(t)
	f := setupWith(t, svctest.Options{Bus: broker.Connect(t)})
	nell := f.person(t, "Nell", "strip")
	piece, stages := f.planned(t)
	publishScrap(t, broker.Connect(t), piece)

	deadline := time.Now().Add(10 * time.Second)
	for minute := 0; ; minute += 10 {
		_, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(nell, stages["strip top"].Name, minute))
		if fault.Is(err, "PIECE_SCRAPPED") {
			break
		}
		if err != nil || time.Now().After(deadline) {
			t.Fatalf("ClockOn = %v, want PIECE_SCRAPPED in the end", err)
		}
		if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, minute+5)); err != nil {
			t.Fatal(err)
		}
	}
	svctest.Refused(t, f.Service, f.stages.FinishStage, finishing(stages["strip top"].Name, 60), fault.Precondition, "PIECE_SCRAPPED")
}

func publishScrap(t *testing.T, b *bus.Bus, piece string) {
	t.Helper()
	pieceID := piece[len("pieces/"):]
	var messages []bus.Message
	for version, event := range []*eventsv1.Envelope{
		{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: 7}}},
		{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{Reason: "woodworm"}}},
	} {
		event.EventId, event.Producer, event.Epoch = id.New().String(), "intake", "one"
		event.AggregateKind, event.AggregateId, event.PieceId, event.Version = "piece", pieceID, pieceID, int64(version+1)
		event.OccurredAt, event.RecordedAt = at(60*version-60), at(0)
		body, err := proto.Marshal(event)
		if err != nil {
			t.Fatal(err)
		}
		messages = append(messages, bus.Message{EventID: event.EventId, Producer: "intake", Type: "piece", Aggregate: pieceID, Version: event.Version, Piece: pieceID, Body: body})
	}
	if _, err := b.Publish(t.Context(), messages); err != nil {
		t.Fatal(err)
	}
}
