package cli

import (
	"context"
	"slices"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/durationpb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// asked keeps what a list was asked for.
func asked[M proto.Message](f *fake, r proto.Message, answer M) (M, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.asks = append(f.asks, r)
	return answer, nil
}

func (f *fake) ListStations(context.Context, *workflowv1.ListStationsRequest) (*workflowv1.ListStationsResponse, error) {
	return &workflowv1.ListStationsResponse{Stations: f.stations}, nil
}

func (f *fake) SaveStation(_ context.Context, r *workflowv1.SaveStationRequest) (*workflowv1.SaveStationResponse, error) {
	return note(f, r, &workflowv1.SaveStationResponse{Station: r.Station})
}

func (f *fake) MovePiece(_ context.Context, r *workflowv1.MovePieceRequest) (*workflowv1.MovePieceResponse, error) {
	return note(f, r, &workflowv1.MovePieceResponse{Placements: []*workflowv1.Placement{
		{PieceTag: 1, PartLabel: "case", Count: 1, Station: "stations/booth", SinceTime: r.MoveTime}, {PieceTag: 1, PartLabel: "drawers", Count: 4, OutsideWork: "outsideWork/1", Firm: "Corbel Cane"}}})
}

func (f *fake) HandOverStage(_ context.Context, r *workflowv1.HandOverStageRequest) (*workflowv1.HandOverStageResponse, error) {
	return note(f, r, &workflowv1.HandOverStageResponse{Stage: f.stages[1], Absence: "Ruth is away today."})
}

func (f *fake) ListNextStages(_ context.Context, r *workflowv1.ListNextStagesRequest) (*workflowv1.ListNextStagesResponse, error) {
	return asked(f, r, &workflowv1.ListNextStagesResponse{NextStages: f.next, More: 3, Obstacles: []string{"2 stages ask for the skill spray."}})
}

func (f *fake) ClaimStage(_ context.Context, r *workflowv1.ClaimStageRequest) (*workflowv1.ClaimStageResponse, error) {
	return note(f, r, &workflowv1.ClaimStageResponse{NextStage: f.next[0]})
}

func (f *fake) PromisePiece(_ context.Context, r *workflowv1.PromisePieceRequest) (*workflowv1.PromisePieceResponse, error) {
	return note(f, r, &workflowv1.PromisePieceResponse{PromiseTime: middayPlus(60), Value: r.Value})
}

func (f *fake) SwitchClock(_ context.Context, r *workflowv1.SwitchClockRequest) (*workflowv1.SwitchClockResponse, error) {
	ended := &workflowv1.ClockEntry{Stage: "pieces/a/stages/2", PieceTag: 1, EndTime: r.SwitchTime, StartTime: r.SwitchTime}
	var finished *workflowv1.Stage
	if r.Finish {
		finished = f.stages[1]
	}
	return note(f, r, &workflowv1.SwitchClockResponse{Ended: []*workflowv1.ClockEntry{ended}, Finished: finished,
		Begun: []*workflowv1.ClockEntry{{Stage: r.Stage, Batch: r.Batch, Indirect: r.Indirect, PieceTag: 1, StartTime: r.SwitchTime}}})
}

func (f *fake) PauseClock(_ context.Context, r *workflowv1.PauseClockRequest) (*workflowv1.PauseClockResponse, error) {
	return note(f, r, &workflowv1.PauseClockResponse{ClockEntries: []*workflowv1.ClockEntry{
		{Stage: "pieces/a/stages/2", Batch: "batches/1", StartTime: r.PauseTime, EndTime: r.PauseTime, StretchStartTime: middayPlus(0), StretchEndTime: middayPlus(90)}, {}}})
}

func (f *fake) ResumeClock(_ context.Context, r *workflowv1.ResumeClockRequest) (*workflowv1.ResumeClockResponse, error) {
	return note(f, r, &workflowv1.ResumeClockResponse{ClockEntries: []*workflowv1.ClockEntry{{Stage: "pieces/a/stages/2", PieceTag: 1, StartTime: r.ResumeTime}}})
}

func (f *fake) SendClockEntry(_ context.Context, r *workflowv1.SendClockEntryRequest) (*workflowv1.SendClockEntryResponse, error) {
	if r.Indirect == "training" {
		return note(f, r, &workflowv1.SendClockEntryResponse{ClockReview: "clockReviews/17"})
	}
	return note(f, r, &workflowv1.SendClockEntryResponse{ClockEntries: []*workflowv1.ClockEntry{{Name: "clockEntries/1"}}})
}

func (f *fake) ListClockReviews(_ context.Context, r *workflowv1.ListClockReviewsRequest) (*workflowv1.ListClockReviewsResponse, error) {
	return asked(f, r, &workflowv1.ListClockReviewsResponse{ClockReviews: f.reviews})
}

func (f *fake) SettleClockReview(_ context.Context, r *workflowv1.SettleClockReviewRequest) (*workflowv1.SettleClockReviewResponse, error) {
	answer := &workflowv1.SettleClockReviewResponse{ClockReview: f.reviews[0]}
	if r.GetDismiss() == nil {
		answer.ClockEntries = f.entries
	}
	return note(f, r, answer)
}

func (f *fake) RecordInspection(_ context.Context, r *workflowv1.RecordInspectionRequest) (*workflowv1.RecordInspectionResponse, error) {
	return note(f, r, &workflowv1.RecordInspectionResponse{Inspection: f.inspections[0], Stages: f.stages[:1]})
}

func (f *fake) ListInspections(_ context.Context, r *workflowv1.ListInspectionsRequest) (*workflowv1.ListInspectionsResponse, error) {
	return asked(f, r, &workflowv1.ListInspectionsResponse{Inspections: f.inspections})
}

func (f *fake) ListDefectKinds(context.Context, *workflowv1.ListDefectKindsRequest) (*workflowv1.ListDefectKindsResponse, error) {
	return &workflowv1.ListDefectKindsResponse{DefectKinds: []*workflowv1.DefectKind{{Kind: "fish_eye", Text: "Small craters; usually silicone."}}}, nil
}

func (f *fake) ListDefectCounts(_ context.Context, r *workflowv1.ListDefectCountsRequest) (*workflowv1.ListDefectCountsResponse, error) {
	return asked(f, r, &workflowv1.ListDefectCountsResponse{Counts: []*workflowv1.ListDefectCountsResponse_Count{
		{DefectKind: "fish_eye", By: "topcoat_coat", Defects: 3, Failed: 2, Inspected: 14, ReworkTime: durationpb.New(90 * time.Minute)}}})
}

func (f *fake) SendOut(_ context.Context, r *workflowv1.SendOutRequest) (*workflowv1.SendOutResponse, error) {
	return note(f, r, &workflowv1.SendOutResponse{OutsideWork: f.outside[0]})
}

func (f *fake) ChaseOutsideWork(_ context.Context, r *workflowv1.ChaseOutsideWorkRequest) (*workflowv1.ChaseOutsideWorkResponse, error) {
	return note(f, r, &workflowv1.ChaseOutsideWorkResponse{OutsideWork: f.outside[0]})
}

func (f *fake) ReceiveOutsideWork(_ context.Context, r *workflowv1.ReceiveOutsideWorkRequest) (*workflowv1.ReceiveOutsideWorkResponse, error) {
	return note(f, r, &workflowv1.ReceiveOutsideWorkResponse{OutsideWork: f.outside[0]})
}

func (f *fake) CorrectOutsideBill(_ context.Context, r *workflowv1.CorrectOutsideBillRequest) (*workflowv1.CorrectOutsideBillResponse, error) {
	return note(f, r, &workflowv1.CorrectOutsideBillResponse{OutsideWork: f.outside[0]})
}

func (f *fake) ListOutsideWork(_ context.Context, r *workflowv1.ListOutsideWorkRequest) (*workflowv1.ListOutsideWorkResponse, error) {
	return asked(f, r, &workflowv1.ListOutsideWorkResponse{OutsideWork: f.outside})
}

func (f *fake) FormBatch(_ context.Context, r *workflowv1.FormBatchRequest) (*workflowv1.FormBatchResponse, error) {
	return note(f, r, &workflowv1.FormBatchResponse{Batch: f.batches[0]})
}

func (f *fake) FinishBatch(_ context.Context, r *workflowv1.FinishBatchRequest) (*workflowv1.FinishBatchResponse, error) {
	return note(f, r, &workflowv1.FinishBatchResponse{Batch: f.batches[0], Stages: f.stages[1:]})
}

func (f *fake) DissolveBatch(_ context.Context, r *workflowv1.DissolveBatchRequest) (*workflowv1.DissolveBatchResponse, error) {
	return note(f, r, &workflowv1.DissolveBatchResponse{Batch: f.batches[0]})
}

func (f *fake) LeaveBatch(_ context.Context, r *workflowv1.LeaveBatchRequest) (*workflowv1.LeaveBatchResponse, error) {
	return note(f, r, &workflowv1.LeaveBatchResponse{Batch: f.batches[0]})
}

func (f *fake) ListBatches(_ context.Context, r *workflowv1.ListBatchesRequest) (*workflowv1.ListBatchesResponse, error) {
	return asked(f, r, &workflowv1.ListBatchesResponse{Batches: f.batches})
}

func (f *fake) ListBatchable(context.Context, *workflowv1.ListBatchableRequest) (*workflowv1.ListBatchableResponse, error) {
	return &workflowv1.ListBatchableResponse{Groups: []*workflowv1.ListBatchableResponse_Group{
		{StageKind: "topcoat_coat", ProductName: "Clear coat", Stages: f.stages[1:], PieceTags: []int32{1, 1}}}}, nil
}

func (f *fake) ListBoard(_ context.Context, r *workflowv1.ListBoardRequest) (*workflowv1.ListBoardResponse, error) {
	return asked(f, r, &workflowv1.ListBoardResponse{Position: "41", Lines: []*workflowv1.BoardLine{{PieceTag: 1, State: workflowv1.BoardLine_STATE_IN_WORK, FinishedStages: 1, Stages: 3,
		Next:        []*workflowv1.BoardLine_Next{{Title: "sand (case)", OnTheClock: []string{"Nell", "Ruth"}}, {Title: "sand (drawers)", ReadyTime: middayPlus(60)}, {Title: "wax", Assigned: []string{"Joss"}}},
		Placements:  []*workflowv1.Placement{{PartLabel: "case", Station: "stations/bench-1"}, {PartLabel: "drawers", OutsideWork: "outsideWork/1", Firm: "Corbel Cane"}},
		PromiseTime: middayPlus(0), Value: usd(640_00)},
		{PieceTag: 2, State: workflowv1.BoardLine_STATE_AWAY, FinishedStages: 2, Stages: 4, Next: []*workflowv1.BoardLine_Next{{Title: "cane (seat)", State: workflowv1.Stage_STATE_AWAY, Assigned: []string{"Joss"}}},
			Placements: []*workflowv1.Placement{{PartLabel: "seat", OutsideWork: "outsideWork/2", Firm: "Corbel Cane"}}},
		{PieceTag: 3, State: workflowv1.BoardLine_STATE_UNPLANNED, Placements: []*workflowv1.Placement{{Station: "stations/rack"}}},
		{PieceTag: 4, State: workflowv1.BoardLine_STATE_AWAY, Scrapped: true, FinishedStages: 1, Stages: 4, Placements: []*workflowv1.Placement{{PartLabel: "door", OutsideWork: "outsideWork/3", Firm: "Corbel Cane"}}}}})
}

func (f *fake) GetDay(_ context.Context, r *workflowv1.GetDayRequest) (*workflowv1.GetDayResponse, error) {
	return asked(f, r, &workflowv1.GetDayResponse{Person: f.people[0], Date: &date.Date{Year: 2026, Month: 3, Day: 2}, Absence: "away: a wedding",
		LabourTime: durationpb.New(90 * time.Minute), IndirectTime: durationpb.New(15 * time.Minute), OpenReviews: 1,
		Paused: []*workflowv1.ClockEntry{{Name: "clockEntries/5", PersonName: "Nell", Indirect: "pick_up", StartTime: middayPlus(0), EndTime: middayPlus(15), Paused: true}}, Assigned: f.next, NextStages: f.next, MoreNextStages: 3})
}

func (f *fake) WatchFloor(r *workflowv1.WatchFloorRequest, stream workflowv1.FloorService_WatchFloorServer) error {
	if f.live != nil {
		return f.live.tell(r, stream)
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.asks = append(f.asks, r)
	if f.fails != nil {
		return f.fails
	}
	from := slices.IndexFunc(f.told, func(m *workflowv1.WatchFloorResponse) bool { return m.Position == r.Position })
	tell := f.told[from+1:]
	if from >= 0 {
		tell = slices.Insert(slices.Clone(tell), 0, &workflowv1.WatchFloorResponse{Position: r.Position})
	}
	for _, m := range tell {
		if err := stream.Send(m); err != nil {
			return err
		}
		if why := f.breaks[m.Position]; why != nil {
			delete(f.breaks, m.Position)
			return why
		}
	}
	return nil
}

func (f *fake) ListPieceTimeline(context.Context, *workflowv1.ListPieceTimelineRequest) (*workflowv1.ListPieceTimelineResponse, error) {
	return &workflowv1.ListPieceTimelineResponse{Happenings: []*workflowv1.ListPieceTimelineResponse_Happening{
		{Time: middayPlus(0), Actor: "Odile", Kind: "clocked_on", Text: "Nell began at sand (case)."}}}, nil
}

func (f *fake) ListHours(_ context.Context, r *workflowv1.ListHoursRequest) (*workflowv1.ListHoursResponse, error) {
	return asked(f, r, &workflowv1.ListHoursResponse{Lines: []*workflowv1.ListHoursResponse_Line{
		{PersonName: "Nell", Week: &date.Date{Year: 2026, Month: 3, Day: 2}, LabourTime: durationpb.New(90 * time.Minute), ReworkTime: durationpb.New(30 * time.Minute)},
		{PersonName: "Nell", Week: &date.Date{Year: 2026, Month: 3, Day: 2}, Indirect: "pick_up", IndirectTime: durationpb.New(15 * time.Minute)}}})
}

func (f *fake) GetPayrollWeek(_ context.Context, r *costingv1.GetPayrollWeekRequest) (*costingv1.GetPayrollWeekResponse, error) {
	if f.wages.week != nil {
		return asked(f, r, &costingv1.GetPayrollWeekResponse{PayrollWeek: f.wages.week})
	}
	return asked(f, r, &costingv1.GetPayrollWeekResponse{PayrollWeek: ofNell()})
}

func (f *fake) LockPayrollWeek(_ context.Context, r *costingv1.LockPayrollWeekRequest) (*costingv1.LockPayrollWeekResponse, error) {
	w := ofNell()
	w.LockTime, w.LockedBy = middayPlus(0), "Odile"
	return note(f, r, &costingv1.LockPayrollWeekResponse{PayrollWeek: w})
}

func ofNell() *costingv1.PayrollWeek {
	line := func(name string, labour, late int, pay int64) *costingv1.PayrollWeek_Line {
		return &costingv1.PayrollWeek_Line{PersonName: name, LabourTime: durationpb.New(time.Duration(labour) * time.Minute), LateTime: durationpb.New(time.Duration(late) * time.Minute),
			Time: durationpb.New(time.Duration(labour+late) * time.Minute), Pay: usd(pay)}
	}
	ruth := line("Ruth", 90, 0, 27_00)
	ruth.Notes = []string{"no pay rate yet for work on 2026-03-03"}
	return &costingv1.PayrollWeek{Week: &date.Date{Year: 2026, Month: 3, Day: 2}, Lines: []*costingv1.PayrollWeek_Line{line("Nell", 60, -15, 15_00), ruth}}
}

func (f *fake) IssueToBatch(_ context.Context, r *materialsv1.IssueToBatchRequest) (*materialsv1.IssueToBatchResponse, error) {
	return note(f, r, &materialsv1.IssueToBatchResponse{Issues: []*materialsv1.Issue{{Name: "issues/1", ProductName: "Clear coat", Stage: "pieces/a/stages/2", Quantity: amount("0.05", "L"), Cost: usd(190), Pass: 1}}, Recostings: f.shelf.recosted})
}
