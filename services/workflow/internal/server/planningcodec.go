package server

import (
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/planning"
	"tackfree/services/workflow/internal/workflow"
)

// within is the path of a field of the nth of a list.
func within(list string, n int, field string) string { return fmt.Sprintf("%s[%d].%s", list, n, field) }

// toCome reads an instant that is not over. Faults: TIME_MALFORMED, TIME_IN_PAST.
func toCome(field string, ts *timestamppb.Timestamp, now time.Time) (time.Time, error) {
	at, err := openInstant(field, ts)
	if err == nil && at.Before(now.Truncate(time.Minute)) {
		err = fault.New(fault.Invalid, "TIME_IN_PAST", "%s is over; give a time that is to come.", fault.The(field)).At(field)
	}
	return at, err
}

func readAbsences(said []*workflowv1.CheckWhatIfRequest_Absence, of *plannedFloor) (out []planning.Absence, err error) {
	for i, a := range said {
		var absence planning.Absence
		if absence.Person, err = id.One(within("absences", i, "person"), a.Person, "people"); err != nil {
			return nil, err
		}
		if err = of.knows(absence.Person, within("absences", i, "person")); err != nil {
			return nil, err
		}
		if absence.First, err = wire.Day(within("absences", i, "first_date"), a.FirstDate); err != nil {
			return nil, err
		}
		if absence.Last, err = wire.Day(within("absences", i, "last_date"), a.LastDate); err != nil {
			return nil, err
		}
		if a.LastDate == nil {
			absence.Last = absence.First
		}
		if absence.Last.Before(absence.First) {
			return nil, fault.New(fault.Invalid, "FROM_AFTER_TO", "The last day away is before the first; give the earlier one first.").At(within("absences", i, "last_date"))
		}
		if absence.Last.Before(workflow.Today(of.facts.Now)) {
			return nil, fault.New(fault.Invalid, "TIME_IN_PAST", "These days are over; give days that are to come.").At(within("absences", i, "last_date"))
		}
		out = append(out, absence)
	}
	return out, nil
}

// nothingLeft is the refusal of a piece that no plan is about. Fault: PIECE_NOT_FOUND.
func nothingLeft(field string) error {
	return fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no such piece on which something is left to do; look at the board.").At(field)
}

func readPromises(said []*workflowv1.CheckWhatIfRequest_Promise, of *plannedFloor) (out []planning.Promise, err error) {
	for i, p := range said {
		var promise planning.Promise
		if promise.Piece, err = id.One(within("promises", i, "piece"), p.Piece, "pieces"); err != nil {
			return nil, err
		}
		if !of.has(promise.Piece) {
			return nil, nothingLeft(within("promises", i, "piece"))
		}
		if promise.At, err = toCome(within("promises", i, "promise_time"), p.PromiseTime, of.facts.Now); err != nil {
			return nil, err
		}
		out = append(out, promise)
	}
	return out, nil
}

func encodeFloorPlan(p *planning.Plan) *workflowv1.FloorPlan {
	out := &workflowv1.FloorPlan{StartTime: wire.ToInstant(p.Start), EndTime: wire.ToInstant(p.End), Runs: int32(p.Runs), PublishTime: wire.ToInstant(p.PublishedAt)}
	if p.Cost != nil {
		out.Cost = encodeCost(*p.Cost)
	}
	for i := range p.Placed {
		out.Stages = append(out.Stages, encodePlaced(&p.Placed[i]))
	}
	for _, u := range p.Unplaced {
		out.Unplaced = append(out.Unplaced, &workflowv1.UnplacedStage{Stage: plannedStageName(u.Piece, u.Stage), Piece: plannedPieceName(u.Piece), PieceTag: u.Piece.Piece.Tag,
			Title: u.Stage.Title(), Why: whys[u.Why], Text: u.Says.Text, Kind: u.Stage.Kind, Said: wire.ToSaid(u.Says)})
	}
	for i := range p.Pieces {
		out.Pieces = append(out.Pieces, encodeOutlook(&p.Pieces[i]))
	}
	for _, there := range p.Presence {
		presence := &workflowv1.Presence{Person: id.Name("people", there.Person.ID), PersonName: there.Person.Name}
		for _, st := range there.Stretches {
			presence.Stretches = append(presence.Stretches, &workflowv1.Presence_Stretch{StartTime: wire.ToInstant(st.Start), EndTime: wire.ToInstant(st.End)})
		}
		out.Presence = append(out.Presence, presence)
	}
	return out
}

var whys = map[planning.Why]workflowv1.UnplacedStage_Why{planning.NobodyCan: workflowv1.UnplacedStage_WHY_NOBODY_CAN, planning.NoTime: workflowv1.UnplacedStage_WHY_NO_TIME,
	planning.Waits: workflowv1.UnplacedStage_WHY_WAITS, planning.Away: workflowv1.UnplacedStage_WHY_AWAY}

func encodePlaced(p *planning.Placed) *workflowv1.PlacedStage {
	out := &workflowv1.PlacedStage{Stage: plannedStageName(p.Piece, p.Stage), Piece: plannedPieceName(p.Piece), PieceTag: p.Piece.Piece.Tag, PieceTitle: p.Piece.Title,
		Kind: p.Stage.Kind, Title: p.Stage.Title(), PartLabel: p.Stage.PartLabel, StartTime: wire.ToInstant(p.Start), EndTime: wire.ToInstant(p.End),
		InWork: p.InWork, Assigned: p.Assigned, PersonPinned: p.PersonPinned, TimePinned: p.TimePinned, DryTime: wire.ToInstant(p.Dry), WindowMissed: p.WindowMissed}
	if p.Person != nil {
		out.Person, out.PersonName = id.Name("people", p.Person.ID), p.Person.Name
	}
	if k := p.Known; k != nil {
		out.PublishedStartTime = wire.ToInstant(k.Start)
		if k.Person != nil {
			out.PublishedPerson, out.PublishedPersonName = id.Name("people", k.Person.ID), k.Person.Name
		}
	}
	out.HeldPersonName = p.Held
	if p.WindowSays.Text != "" {
		out.WindowText, out.WindowSaid = p.WindowSays.Text, wire.ToSaid(p.WindowSays)
	}
	if p.Station != nil {
		out.Station, out.StationName = stationName(p.Station.Word), p.Station.Name
	}
	return out
}

// encodeOutlook writes what becomes of a piece; nil: nothing did.
func encodeOutlook(o *planning.Outlook) *workflowv1.PieceOutlook {
	if o == nil {
		return nil
	}
	return &workflowv1.PieceOutlook{Piece: plannedPieceName(o.Piece), PieceTag: o.Piece.Piece.Tag, PieceTitle: o.Piece.Title, PromiseTime: wire.ToInstant(o.Piece.Piece.Promised),
		EndTime: wire.ToInstant(o.End), Chance: o.Chance, EarlyTime: wire.ToInstant(o.Early), MiddleTime: wire.ToInstant(o.Middle), LateTime: wire.ToInstant(o.Late)}
}

// plannedPieceName is the name of a piece; one that is only supposed has none.
func plannedPieceName(p *planning.Piece) string {
	if p.Piece.ID == id.Nil {
		return ""
	}
	return id.Name("pieces", p.Piece.ID)
}

func plannedStageName(p *planning.Piece, s *workflow.Stage) string {
	if p.Piece.ID == id.Nil {
		return ""
	}
	return id.Name("pieces", p.Piece.ID, "stages", s.ID)
}
