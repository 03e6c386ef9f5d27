package piece_test

import (
	"path"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

const (
	thePiece = "pieces/018f3b8e-0000-7000-8000-000000000401"
	theEvent = "018f3b8e-0000-7000-8000-0000000000ee"
)

func ago(d time.Duration) *timestamppb.Timestamp { return timestamppb.New(now.Add(-d)) }

func usd(units int64, cents int32) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "USD", Units: units, Nanos: cents * 10_000_000}
}

func litres(value string) *typev1.Quantity { return &typev1.Quantity{Value: value, Unit: "L"} }

func stage(key, kind, part, product string, state workflowv1.Stage_State) *workflowv1.Stage {
	s := &workflowv1.Stage{Name: thePiece + "/stages/" + key + "-" + part, Key: key, Kind: kind, PartLabel: part, State: state, Pass: 1, AttendedMinutes: 45}
	if part != "" {
		s.Part = thePiece + "/parts/" + part
	}
	if product != "" {
		s.Product, s.ProductName = "products/"+product, product
	}
	return s
}

// dresser is a piece in the middle of its work: a painted case, a stained top.
func dresser() []*workflowv1.Stage {
	done, dries, waits, ready := workflowv1.Stage_STATE_FINISHED, workflowv1.Stage_STATE_DRYING, workflowv1.Stage_STATE_WAITING, workflowv1.Stage_STATE_READY
	off := stage("hardware-off", "hardware_off", "", "", done)
	off.FinishTime = ago(50 * time.Hour)
	strip := stage("strip", "strip", "top", "", done)
	strip.FinishTime, strip.UnattendedMinutes = ago(46*time.Hour), 600
	stain := stage("stain", "stain_coat", "top", "Walnut stain", done)
	stain.FinishTime, stain.UnattendedMinutes = ago(3*time.Hour), 480
	clear := stage("topcoat", "topcoat_coat", "top", "Satin clear coat", dries)
	clear.After, clear.ReadyTime, clear.UnattendedMinutes = []string{stain.Name}, ago(-5*time.Hour), 240
	clear.WindowCloseTime = ago(-20 * time.Hour)
	prime := stage("prime", "prime", "case", "White primer", done)
	prime.FinishTime, prime.UnattendedMinutes = ago(26*time.Hour), 120
	paint := stage("paint", "paint_coat", "case", "Chalk blue paint", ready)
	paint.Pass, paint.UnattendedMinutes, paint.Cautions = 2, 240, []*workflowv1.Caution{{Id: "vapour"}}
	paint.AssigneeName, paint.HelperNames = "Anselm", []string{"Bao"}
	last := stage("inspect", "inspect", "", "", waits)
	last.After = []string{clear.Name, paint.Name}
	return []*workflowv1.Stage{off, strip, stain, clear, prime, paint, last}
}

func answers() map[string]proto.Message {
	stages := dresser()
	coat := &typev1.CoatingSheet{Family: typev1.FilmFamily_FILM_FAMILY_WATER_POLYURETHANE, DryFilmUm: 25}
	return map[string]proto.Message{
		"GetPiece": &intakev1.GetPieceResponse{Piece: &intakev1.Piece{Name: thePiece, Tag: 401, Title: "Pine dresser <script>alert(1)</script>", Kind: "dresser",
			Origin:      &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{Price: usd(77, 13), Source: "a barn sale"}},
			Parts:       []*intakev1.Part{{Name: thePiece + "/parts/top", Label: "top", Count: 1}, {Name: thePiece + "/parts/case", Label: "case", Count: 1}},
			TakenInTime: ago(70 * time.Hour)}},
		"ListBoard": &workflowv1.ListBoardResponse{Lines: []*workflowv1.BoardLine{{Piece: thePiece, PieceTag: 401, State: workflowv1.BoardLine_STATE_READY, FinishedStages: 4, Stages: 7,
			PromiseTime: ago(-50 * time.Hour), Value: usd(360, 0), Placements: []*workflowv1.Placement{{Part: thePiece + "/parts/top", PartLabel: "top", Station: "stations/rack"},
				{Part: thePiece + "/parts/case", PartLabel: "case", OutsideWork: "outsideWork/1", Firm: "Hollow & Daughter"}},
			Next: []*workflowv1.BoardLine_Next{{Title: "paint (case)", Kind: "paint_coat", State: workflowv1.Stage_STATE_READY}}}}},
		"ListStations": &workflowv1.ListStationsResponse{Stations: []*workflowv1.Station{{Name: "stations/rack", DisplayName: "Long rack"}}},
		"ListStages":   &workflowv1.ListStagesResponse{Stages: stages},
		"GetFinishPlan": &workflowv1.GetFinishPlanResponse{Plan: &workflowv1.FinishPlan{Version: 2, State: workflowv1.FinishPlan_STATE_APPROVED, Parts: []*workflowv1.PartWish{
			{Part: thePiece + "/parts/top", Look: "stain", Assessment: &workflowv1.Assessment{Material: workflowv1.Assessment_MATERIAL_VENEER, Species: "walnut", OldFinish: "shellac"}},
			{Part: thePiece + "/parts/case", Look: "paint", Assessment: &workflowv1.Assessment{Material: workflowv1.Assessment_MATERIAL_SOLID_WOOD, Species: "pine", OldFinish: "alkyd or oil varnish"}}}}},
		"GetProduct": &materialsv1.GetProductResponse{Product: &materialsv1.Product{DisplayName: "Satin clear coat", CoatingSheet: coat, OnHand: litres("3"), Value: usd(100, 0)}},
		"ListPartTests": &workflowv1.ListPartTestsResponse{Tests: []*workflowv1.PartTest{{Part: thePiece + "/parts/top", TestTime: ago(60 * time.Hour), Actor: "Hedda",
			Result: &workflowv1.PartTest_Lead{Lead: &workflowv1.Lead{Result: workflowv1.Lead_RESULT_FREE}}}}},
		"ListDryClocks": &workflowv1.ListDryClocksResponse{DryClocks: []*workflowv1.DryClock{{Stage: stages[2].Name, Ready: &workflowv1.DryWindow{LikelyTime: ago(-5 * time.Hour)}}}},
		"ListClockEntries": &workflowv1.ListClockEntriesResponse{ClockEntries: []*workflowv1.ClockEntry{
			{PersonName: "Bao", Stage: stages[1].Name, StageKind: "strip", StartTime: ago(47 * time.Hour), EndTime: ago(46 * time.Hour), Pass: 1, Superseded: true,
				SupersededBy: "Hedda", SupersedeTime: ago(40 * time.Hour), SupersedeReason: "took a call before clocking off"},
			{PersonName: "Bao", Stage: stages[1].Name, StageKind: "strip", StartTime: ago(47 * time.Hour), EndTime: ago(46*time.Hour + 20*time.Minute), Pass: 1},
			{PersonName: "Anselm", Stage: stages[5].Name, StageKind: "paint_coat", StartTime: ago(10 * time.Minute), Pass: 2}}},
		"intake ListPieceEvents": &eventsv1.ListPieceEventsResponse{Events: []*eventsv1.Envelope{{OccurredAt: ago(70 * time.Hour), RecordedAt: ago(69 * time.Hour), Actor: "Hedda",
			Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Source: "a barn sale", Price: usd(77, 13)}}}}}}},
		"workflow ListPieceEvents": &eventsv1.ListPieceEventsResponse{Events: []*eventsv1.Envelope{{OccurredAt: ago(3 * time.Hour), RecordedAt: ago(3 * time.Hour), Actor: "Bao",
			Payload: &eventsv1.Envelope_StageFinished{StageFinished: &eventsv1.StageFinished{StageId: path.Base(stages[2].Name), Kind: "stain_coat"}}}}},
		"sales ListPieceEvents": &eventsv1.ListPieceEventsResponse{Events: []*eventsv1.Envelope{{OccurredAt: ago(time.Hour), RecordedAt: ago(time.Hour), Actor: "Hedda",
			Payload: &eventsv1.Envelope_PieceListed{PieceListed: &eventsv1.PieceListed{Channel: "window", AskingPrice: usd(640, 0)}}}}},
		"ListIssues": &materialsv1.ListIssuesResponse{Issues: []*materialsv1.Issue{{Name: "products/stain/issues/1", ProductName: "Walnut stain", Stage: stages[2].Name, StageKind: "stain_coat", Pass: 1,
			Quantity: litres("0.25"), Cost: usd(8, 41), IssueTime: ago(4 * time.Hour), Actor: "Bao", Draws: []*materialsv1.Issue_Draw{{Lot: "products/stain/lots/1", Quantity: litres("0.25"), Cost: usd(8, 41)}}}}},
		"ListLots":     &materialsv1.ListLotsResponse{Lots: []*materialsv1.Lot{{Name: "products/stain/lots/1", ReceiveTime: ago(200 * time.Hour), Supplier: "Millrace Supply", BatchCode: "K17"}}},
		"ListNeeds":    &materialsv1.ListNeedsResponse{Needs: []*materialsv1.Need{{Product: "products/clear", ProductName: "Satin clear coat", StageTitle: "topcoat (top)", Expected: litres("0.3"), Reserved: litres("0.3")}, {ProductName: "Chalk blue paint", StageTitle: "paint (case)"}, {ProductName: "Paste wax", StageTitle: "wax (top)"}}},
		"GetListing":   &salesv1.GetListingResponse{Listing: &salesv1.Listing{State: salesv1.Listing_STATE_LISTED, AskingPrice: usd(640, 0), Channel: "window"}},
		"GetPieceCost": &costingv1.GetPieceCostResponse{PieceCost: &costingv1.PieceCost{Piece: thePiece, State: costingv1.PieceCost_STATE_LISTED, Sums: &costingv1.CostSums{Acquisition: usd(77, 13), Labour: usd(41, 20), Material: usd(8, 41), Cost: usd(126, 74), Profit: usd(-126, -74), Revenue: usd(5, 0), LabourTime: durationpb.New(2 * time.Hour)}, Provisional: true, ProvisionalReasons: []string{"the week is not over"}}},
		"ListCostLines": &costingv1.ListCostLinesResponse{Lines: []*costingv1.CostLine{{SheetLine: "labour", Amount: usd(41, 20), AccountTitle: "Work in process", Says: "labour of a stage", PersonName: "Bao", StageKind: "strip", PartLabel: "top", OccurTime: ago(46 * time.Hour), EventId: theEvent, StartTime: ago(47 * time.Hour), EndTime: ago(46 * time.Hour)},
			{SheetLine: "revenue", Amount: usd(-5, 0), AccountTitle: "Sales", Says: "sale", OccurTime: ago(time.Hour), EventId: theEvent}}},
		"PriceWhatIf":     &costingv1.PriceWhatIfResponse{Price: usd(640, 0), Fee: usd(0, 0), CostSoFar: usd(126, 74), Profit: usd(400, 0), MarginPercent: "62.5", Time: durationpb.New(5 * time.Hour), ProfitPerLabourHour: usd(80, 3), BreakEvenPrice: usd(240, 0), StandardRate: usd(25, 0), StandardRateIsAverage: true, LabourToCome: usd(60, 0), BurdenToCome: usd(9, 0), OverheadToCome: usd(20, 0)},
		"ListPhotos":      &intakev1.ListPhotosResponse{Photos: []*intakev1.Photo{{Name: "photos/7", Moment: intakev1.Photo_MOMENT_DEFECT, Note: "runs on the left", PartLabel: "case", TakenTime: ago(time.Hour)}}},
		"ListEvents":      &eventsv1.ListEventsResponse{Events: []*eventsv1.Envelope{{EventId: theEvent, Producer: "workflow", Version: 9, Actor: "Bao", OccurredAt: ago(46 * time.Hour), RecordedAt: ago(46 * time.Hour), Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{}}}}},
		"ListOutsideWork": &workflowv1.ListOutsideWorkResponse{OutsideWork: []*workflowv1.OutsideWork{{Name: "outsideWork/1", Firm: "Hollow & Daughter", Kind: "upholstery", PartLabel: "case", State: workflowv1.OutsideWork_STATE_OUT, SentTime: ago(30 * time.Hour)}}},
	}
}
