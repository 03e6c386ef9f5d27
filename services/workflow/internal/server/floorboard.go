package server

import (
	"context"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

var boardStates = map[workflow.BoardState]workflowv1.BoardLine_State{
	workflow.BoardInWork: workflowv1.BoardLine_STATE_IN_WORK, workflow.BoardReady: workflowv1.BoardLine_STATE_READY,
	workflow.BoardDrying: workflowv1.BoardLine_STATE_DRYING, workflow.BoardAway: workflowv1.BoardLine_STATE_AWAY,
	workflow.BoardDone: workflowv1.BoardLine_STATE_DONE, workflow.BoardScrapped: workflowv1.BoardLine_STATE_SCRAPPED,
	workflow.BoardUnplanned: workflowv1.BoardLine_STATE_UNPLANNED,
	workflow.BoardSold:      workflowv1.BoardLine_STATE_SOLD,
}

// openStates are those of pieces on which stages are left to do, and usualStates those that are
// shown to whoever asks for none.
var (
	openStates = []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_IN_WORK, workflowv1.BoardLine_STATE_READY,
		workflowv1.BoardLine_STATE_DRYING, workflowv1.BoardLine_STATE_AWAY}
	usualStates = append(slices.Clone(openStates), workflowv1.BoardLine_STATE_UNPLANNED)
)

// boardRead is how many pieces are read at once when what is asked for is only seen from
// their stages: more than a shop has in work, as a rule.
const boardRead = 500

// ListBoard implements FloorService.
func (s *Server) ListBoard(ctx context.Context, r *workflowv1.ListBoardRequest) (*workflowv1.ListBoardResponse, error) {
	var after store.BoardMark
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	out := &workflowv1.ListBoardResponse{}
	err := s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		look, err := readLook(ctx, st, r)
		if err != nil {
			return err
		}
		position, err := s.Log.Now(ctx, q)
		if err != nil {
			return err
		}
		out.Position = s.Log.Token(position)
		look.now = s.Shop.Now()
		lines, err := look.lines(ctx, st, after, size)
		out.NextPageToken = page.Next(lines, size, func(l boardLine) any { return store.BoardMark{Tag: l.Piece.Tag, ID: l.Piece.ID} })
		for _, l := range lines {
			out.Lines = append(out.Lines, s.encodeLine(l))
		}
		return err
	})
	return out, err
}

// boardLook is what somebody wants to see of the board.
type boardLook struct {
	states []workflowv1.BoardLine_State
	kind   string
	filter store.BoardFilter
	now    time.Time
}

// readLook reads a request. Faults: INVALID_NAME, PERSON_NOT_FOUND, STATION_NOT_FOUND.
func readLook(ctx context.Context, st store.Store, r *workflowv1.ListBoardRequest) (l boardLook, err error) {
	l.states, l.kind = r.States, r.StageKind
	if len(l.states) == 0 {
		l.states = usualStates
	}
	l.filter = store.BoardFilter{Kind: r.StageKind, Open: slices.ContainsFunc(openStates, l.wants), Away: l.wants(workflowv1.BoardLine_STATE_AWAY),
		Done: l.wants(workflowv1.BoardLine_STATE_DONE), Unplanned: l.wants(workflowv1.BoardLine_STATE_UNPLANNED), Scrapped: l.wants(workflowv1.BoardLine_STATE_SCRAPPED),
		Sold: l.wants(workflowv1.BoardLine_STATE_SOLD), CameBack: r.CameBack}
	if r.Person != "" {
		if l.filter.Person, err = id.One("person", r.Person, "people"); err != nil {
			return l, err
		}
		if _, err := st.Person(ctx, l.filter.Person); err != nil {
			return l, err
		}
	}
	word, err := optionalStation(r.Station)
	if err != nil || word == "" {
		return l, err
	}
	l.filter.Station, err = st.StationID(ctx, word)
	return l, err
}

func (l boardLook) wants(state workflowv1.BoardLine_State) bool {
	return slices.Contains(l.states, state)
}

// reads is how many pieces to read for so many lines: as many, where each piece that is read
// makes a line.
func (l boardLook) reads(size int) int32 {
	open := 0
	for _, s := range openStates {
		if l.wants(s) {
			open++
		}
	}
	if l.kind == "" && (open == 0 || open == len(openStates)) {
		return int32(size)
	}
	return boardRead
}

// boardLine is a piece on the board, and what is next on it.
type boardLine struct {
	store.BoardPiece
	state workflow.BoardState
	next  []workflow.OnBoard
}

// lines reads until the page is full or there are no more pieces.
func (l boardLook) lines(ctx context.Context, st store.Store, after store.BoardMark, size int32) (lines []boardLine, err error) {
	for {
		limit := l.reads(int(size) - len(lines))
		pieces, err := st.Board(ctx, l.filter, after, limit, l.now)
		if err != nil {
			return nil, err
		}
		for _, p := range pieces {
			line := boardLine{BoardPiece: p}
			line.state, line.next = p.Board(l.now)
			if l.shows(line) && len(lines) < int(size) {
				lines = append(lines, line)
			}
			after = store.BoardMark{Tag: p.Piece.Tag, ID: p.Piece.ID}
		}
		if len(pieces) < int(limit) || len(lines) == int(size) {
			return lines, nil
		}
	}
}

func (l boardLook) shows(line boardLine) bool {
	ofKind := func(n workflow.OnBoard) bool { return n.Kind == l.kind }
	return l.wants(boardStates[line.state]) && (l.kind == "" || slices.ContainsFunc(line.next, ofKind))
}

func (s *Server) encodeLine(l boardLine) *workflowv1.BoardLine {
	p := l.Piece
	out := &workflowv1.BoardLine{Piece: id.Name("pieces", p.ID), PieceTag: p.Tag, State: boardStates[l.state], FinishedStages: l.Finished, Stages: l.All,
		Placements: encodePlacements(l.Placements), PromiseTime: wire.ToInstant(p.Promised), Value: s.toValue(p), Scrapped: p.Scrapped, SoldTime: wire.ToInstant(p.SoldAt)}
	if l.Comeback != id.Nil {
		out.Comeback = id.Name("comebacks", l.Comeback)
	}
	for _, n := range l.next {
		out.Next = append(out.Next, encodeOnBoard(&l.Plan, n))
	}
	return out
}

func encodeOnBoard(p *workflow.Plan, n workflow.OnBoard) *workflowv1.BoardLine_Next {
	out := &workflowv1.BoardLine_Next{Stage: id.Name("pieces", n.Piece, "stages", n.ID), Title: n.Title(), Kind: n.Kind, State: stageStates[n.State],
		OnTheClock: p.OnIt[n.ID], WindowCloseTime: wire.ToInstant(n.Wait.Closes), StationKind: n.Station, ProductName: n.ProductName, Pass: n.Pass()}
	if n.AssignedTo != "" {
		out.Assigned = append(out.Assigned, n.AssignedTo)
	}
	for _, h := range n.Helpers {
		out.Assigned = append(out.Assigned, h.Name)
	}
	if n.State == workflow.Drying {
		out.ReadyTime = wire.ToInstant(n.Wait.Until.Likely)
	}
	if n.Batch != id.Nil {
		out.Batch = id.Name("batches", n.Batch)
	}
	return out
}
