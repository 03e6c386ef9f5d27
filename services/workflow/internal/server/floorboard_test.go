package server_test

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// shopFloor is a shop with a piece of each sort: 1 in work, 2 ready, 3 drying, 4 at a caner's, 5
// done, 6 given up, 7 without stages and nowhere, 8 without stages in the booth, 9 without stages
// at the caner's, 10 done and at the caner's with one part, 11 given up and there too. It is minute
// 120.
type shopFloor struct {
	*dryRoom
	nell, odo string
	pieces    map[int32]string
	stages    map[int32]map[string]string // by tag and title
	first     *workflowv1.Stage           // the coat that dries
	second    *workflowv1.Stage
}

func setupShop(t *testing.T) *shopFloor {
	t.Helper()
	s := &shopFloor{dryRoom: setupDry(t), pieces: map[int32]string{}, stages: map[int32]map[string]string{}}
	s.wall.set(120)
	s.nell, s.odo = s.person(t, "Nell"), s.person(t, "Odo")
	for _, tag := range []int32{1, 2, 4, 5, 6, 10, 11} {
		s.pieces[tag], s.stages[tag] = s.drawers(t, tag)
	}
	s.on(t, s.nell, s.stages[1]["dewax left"], 60)
	s.assign(t, assigning(s.stages[2]["dewax right"], s.odo))
	s.first, s.second = s.topcoats(t)
	s.pieces[3] = s.first.Name[:43]
	s.alter(t, fmt.Sprintf(`UPDATE piece SET tag = 3 WHERE id = '%s'`, tail(s.pieces[3])))
	s.lays(t, s.first, "bench", 100)
	for _, title := range []string{"dewax left", "dewax right", "polish left", "polish right"} {
		s.finishAt(t, s.stages[5][title], 90)
		s.finishAt(t, s.stages[10][title], 90)
	}
	s.saveStation(t, boothFor("booth", 9))
	s.carries(t, s.pieces[2], "", "booth", 30)
	s.carries(t, s.pieces[1], "", "booth", 40)
	s.sendsOut(t, s.pieces[4], "", 50)
	s.sendsOut(t, s.pieces[11], s.intake.pieces[s.pieces[11]].Parts[0].Name, 100)
	s.alter(t, fmt.Sprintf(`UPDATE piece SET scrapped = true WHERE id IN ('%s', '%s')`, tail(s.pieces[6]), tail(s.pieces[11])))
	for _, tag := range []int32{7, 8, 9} {
		p := s.intake.add("top")
		p.Tag, s.pieces[tag] = tag, p.Name
	}
	s.promise(t, s.pieces[7], nil, dollars(100))
	s.carries(t, s.pieces[8], "", "booth", 100)
	s.sendsOut(t, s.pieces[9], "", 100)
	s.sendsOut(t, s.pieces[10], s.intake.pieces[s.pieces[10]].Parts[0].Name, 100)
	return s
}

// sendsOut gives a piece, or one of its parts, to a caner.
func (f *floor) sendsOut(t testing.TB, piece, part string, minute int) *workflowv1.OutsideWork {
	t.Helper()
	r, err := workflowv1.NewOutsideWorkServiceClient(f.Conn).SendOut(svctest.Ctx(t), sendingOut(piece, part, minute))
	if err != nil {
		t.Fatal(err)
	}
	return r.OutsideWork
}

func sendingOut(piece, part string, minute int) *workflowv1.SendOutRequest {
	return &workflowv1.SendOutRequest{RequestId: svctest.NewID(), Piece: piece, Part: part, Kind: "caning", Firm: "Weber & Daughter", DueDate: march(10), SendTime: at(minute)}
}

// The board shows what is left to do, what nobody planned yet and what others have, by tag, and
// on request what is done or was given up.
func TestServer_ListBoard(t *testing.T) {
	t.Parallel()
	s := setupShop(t)
	s.promise(t, s.pieces[2], timestamppb.New(morning.AddDate(0, 0, 5)), dollars(450))
	of := func(states ...workflowv1.BoardLine_State) *workflowv1.ListBoardRequest {
		return &workflowv1.ListBoardRequest{States: states}
	}
	for want, r := range map[string]*workflowv1.ListBoardRequest{
		"in_work 1, ready 2, drying 3, away 4, unplanned 7, unplanned 8, away 9, away 10, away 11":                     {},
		"in_work 1, ready 2, drying 3, away 4, done 5, scrapped 6, unplanned 7, unplanned 8, away 9, away 10, away 11": of(1, 2, 3, 4, 5, 6, 7),
		"in_work 1, ready 2, drying 3, done 5, scrapped 6, unplanned 7, unplanned 8":                                   of(1, 2, 3, 5, 6, 7),
		"done 5":                           of(workflowv1.BoardLine_STATE_DONE),
		"scrapped 6":                       of(workflowv1.BoardLine_STATE_SCRAPPED),
		"unplanned 7, unplanned 8":         of(workflowv1.BoardLine_STATE_UNPLANNED),
		"away 4, away 9, away 10, away 11": of(workflowv1.BoardLine_STATE_AWAY),
		"away 4, unplanned 7, unplanned 8, away 9, away 10, away 11": of(workflowv1.BoardLine_STATE_AWAY, workflowv1.BoardLine_STATE_UNPLANNED),
		"away 4, done 5, away 9, away 10, away 11":                   of(workflowv1.BoardLine_STATE_DONE, workflowv1.BoardLine_STATE_AWAY),
		"ready 2":                         of(workflowv1.BoardLine_STATE_READY),
		"drying 3 ":                       of(workflowv1.BoardLine_STATE_DRYING),
		"in_work 1, ready 2, unplanned 8": {Station: "stations/booth"},
		"in_work 1":                       {Person: s.nell},
		"ready 2 ":                        {Person: s.odo},
		"drying 3":                        {StageKind: "topcoat_coat"},
		"in_work 1, ready 2, away 4":      {StageKind: "dewax"},
		"":                                {StageKind: "polish"}, // which nobody can begin yet
		" ":                               {Station: "stations/booth", Person: s.odo, States: []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_IN_WORK}},
	} {
		for _, size := range []int32{0, 1, 2} {
			r.PageSize = size
			if got := tagged(s.board(t, r)); got != trim(want) {
				t.Errorf("board of %v in pages of %d: %s, want %s", r, size, got, want)
			}
		}
	}
	lines := s.board(t, &workflowv1.ListBoardRequest{})
	want := &workflowv1.BoardLine{Piece: s.pieces[2], PieceTag: 2, State: workflowv1.BoardLine_STATE_READY, Stages: 4, PromiseTime: timestamppb.New(morning.AddDate(0, 0, 5)), Value: dollars(450),
		Next: []*workflowv1.BoardLine_Next{
			{Stage: s.stages[2]["dewax left"], Title: "dewax (left)", Kind: "dewax", State: workflowv1.Stage_STATE_READY, Pass: 1},
			{Stage: s.stages[2]["dewax right"], Title: "dewax (right)", Kind: "dewax", State: workflowv1.Stage_STATE_READY, Pass: 1, Assigned: []string{"Odo"}},
		}}
	for _, label := range []string{"left", "right"} {
		want.Placements = append(want.Placements, &workflowv1.Placement{Piece: s.pieces[2], PieceTag: 2, PartLabel: label, Count: 1, Station: "stations/booth", SinceTime: at(30)})
	}
	if diff := cmp.Diff(want, lines[1], protocmp.Transform(), protocmp.IgnoreFields(&workflowv1.Placement{}, "part")); diff != "" {
		t.Errorf("the line of what is ready (-want +got):\n%s", diff)
	}
	if on := lines[0].Next[0]; lines[0].FinishedStages != 0 || on.State != workflowv1.Stage_STATE_IN_WORK || len(on.OnTheClock) != 1 || on.OnTheClock[0] != "Nell" {
		t.Errorf("the line of what is in work = %v", lines[0])
	}
	if p := lines[3].Placements; len(p) != 2 || p[0].Firm != "Weber & Daughter" || p[0].OutsideWork == "" || p[0].Station != "" || lines[3].Next[0].State != workflowv1.Stage_STATE_AWAY {
		t.Errorf("the line of what is away = %v", lines[3])
	}
	if l := lines[4]; l.Stages != 0 || len(l.Next) != 0 || len(l.Placements) != 0 {
		t.Errorf("the line of what was only taken in = %v", l)
	}
	if l := lines[5]; l.Stages != 0 || len(l.Next) != 0 || len(l.Placements) != 1 || l.Placements[0].Station != "stations/booth" {
		t.Errorf("the line of what nobody planned = %v", l)
	}
	if l := lines[7]; l.Stages != 4 || l.Scrapped || l.FinishedStages != 4 || len(l.Placements) != 1 || l.Placements[0].Firm != "Weber & Daughter" {
		t.Errorf("the line of what is done and away = %v", l)
	}
	if l := lines[8]; !l.Scrapped || len(l.Next) != 0 || len(l.Placements) != 1 || l.Placements[0].Firm != "Weber & Daughter" {
		t.Errorf("the line of what was given up and is away = %v", l)
	}
	dry, shown := lines[2].Next[0], s.stage(t, s.second.Name)
	if dry.State != workflowv1.Stage_STATE_DRYING || !dry.ReadyTime.AsTime().Equal(shown.ReadyTime.AsTime()) || !dry.WindowCloseTime.AsTime().Equal(shown.WindowCloseTime.AsTime()) ||
		dry.ProductName != "Varnish" || lines[2].FinishedStages != 1 || lines[2].Stages != 2 {
		t.Errorf("the line of what dries = %v, and its stage %v", lines[2], shown)
	}
	if got := tagged(s.board(t, of(workflowv1.BoardLine_STATE_DONE))); got != "done 5" {
		t.Errorf("done: %s", got)
	}
}

func trim(s string) string {
	for len(s) > 0 && s[len(s)-1] == ' ' {
		s = s[:len(s)-1]
	}
	return s
}

// Time passes and what dries is ready; what was away comes back; what was ready is in a batch.
func TestServer_ListBoard_Changes(t *testing.T) {
	t.Parallel()
	s := setupShop(t)
	s.wall.set(600)
	if got := tagged(s.board(t, &workflowv1.ListBoardRequest{})); got != "in_work 1, ready 2, ready 3, away 4, unplanned 7, unplanned 8, away 9, away 10, away 11" {
		t.Errorf("in the evening: %s", got)
	}
	out := workflowv1.NewOutsideWorkServiceClient(s.Conn)
	work, err := out.ListOutsideWork(t.Context(), &workflowv1.ListOutsideWorkRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range work.OutsideWork {
		if _, err := out.ReceiveOutsideWork(svctest.Ctx(t), receiving(w.Name, 590)); err != nil {
			t.Fatal(err)
		}
	}
	if got := tagged(s.board(t, &workflowv1.ListBoardRequest{States: []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_SCRAPPED}})); got != "scrapped 6, scrapped 11" {
		t.Errorf("given up, and all in the shop: %s", got)
	}
	b := s.formed(t, s.stages[2]["dewax left"], s.stages[4]["dewax left"])
	s.clockedOff(t, s.nell, 595)
	s.finishAt(t, s.stages[1]["dewax left"], 596)
	s.sendBackAt(t, s.stages[1]["dewax left"], 597)
	lines := s.board(t, &workflowv1.ListBoardRequest{})
	if got := tagged(lines); got != "ready 1, ready 2, ready 3, ready 4, unplanned 7, unplanned 8, unplanned 9" {
		t.Errorf("when the caner was there: %s", got)
	}
	if lines[0].Next[0].Pass != 2 || lines[1].Next[0].Batch != b.Name || lines[3].Next[0].Batch != b.Name || len(lines[3].Placements) != 0 {
		t.Errorf("the lines = %v", lines)
	}
}

func TestServer_ListBoard_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	for reason, r := range map[string]*workflowv1.ListBoardRequest{
		"PERSON_NOT_FOUND": {Person: id.Name("people", id.New())}, "STATION_NOT_FOUND": {Station: "stations/nowhere"},
	} {
		svctest.Refused(t, f.Service, f.view().ListBoard, r, fault.NotFound, reason)
	}
	for reason, r := range map[string]*workflowv1.ListBoardRequest{
		"INVALID_NAME": {Person: "Nell"}, "INVALID_NAME ": {Station: "booth"}, "INVALID_PAGE_TOKEN": {PageToken: "?"}, "INVALID_FIELD": {PageSize: -1},
	} {
		svctest.Refused(t, f.Service, f.view().ListBoard, r, fault.Invalid, trim(reason))
	}
	if r, err := f.view().ListBoard(t.Context(), &workflowv1.ListBoardRequest{}); err != nil || len(r.Lines) != 0 || r.Position == "" {
		t.Errorf("the board of an empty shop = %v, %v", r, err)
	}
}

// What happens after the board was read is told from its position on, and nothing of before.
func TestServer_ListBoard_Position(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	r, err := f.view().ListBoard(t.Context(), &workflowv1.ListBoardRequest{})
	if err != nil {
		t.Fatal(err)
	}
	f.on(t, nell, stages["strip top"].Name, 10)
	stream := f.watching(t, &workflowv1.WatchFloorRequest{Position: r.Position})
	if first := stream.next(t); first.Event != nil || first.Position != r.Position {
		t.Errorf("first told = %v, want the position alone", first)
	}
	if told := stream.next(t); told.Event.GetClockedOn().GetSpan().GetPersonName() != "Nell" {
		t.Errorf("then told = %v, want that Nell clocked on", told)
	}
}
