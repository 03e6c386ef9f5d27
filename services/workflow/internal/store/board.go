package store

import (
	"context"
	"errors"
	"maps"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// BoardFilter chooses pieces; an id that is id.Nil leaves a field open.
type BoardFilter struct {
	// Which of them. Open: stages are left to do, whoever has it, or of a sold one are being done; Away: none
	// are, or it was given up or sold, and others have something of it, planned or not; Sold: before it was done.
	Open, Away, Done, Unplanned, Scrapped, Sold bool
	Station, Person                             id.ID
	Kind                                        string // a stage of it is not finished; empty: any
	CameBack                                    bool   // only those with an open come-back
}

// BoardMark is a place on the board.
type BoardMark struct {
	Tag int32
	ID  id.ID
}

// BoardPiece is a piece as the board reads it: of its plan what Board asks for.
type BoardPiece struct {
	workflow.Plan
	All, Finished int32 // stages
	Placements    []workflow.Placement
	Comeback      id.ID // the open one; id.Nil: there is none
}

// Board reads up to limit pieces after a mark, by tag, in a number of queries that does not
// depend on how many there are, for a look at an instant. It reads few columns: a shop looks at
// its board all day.
func (s Store) Board(ctx context.Context, f BoardFilter, after BoardMark, limit int32, now time.Time) ([]BoardPiece, error) {
	rows, err := s.q.BoardPieces(ctx, storedb.BoardPiecesParams{AfterTag: after.Tag, AfterID: after.ID, Open: f.Open, Away: f.Away, Done: f.Done, Unplanned: f.Unplanned, Scrapped: f.Scrapped, Sold: f.Sold,
		Station: nullable(f.Station), Person: nullable(f.Person), Kind: f.Kind, CameBack: f.CameBack, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	b := board{Store: s, now: now, filmed: map[id.ID]time.Time{}, pieces: make([]BoardPiece, len(rows)), ids: make([]id.ID, len(rows)), at: make(map[id.ID]*BoardPiece, len(rows))}
	for i, row := range rows {
		p := workflow.Piece{ID: row.ID, Tag: row.Tag, Scrapped: row.Scrapped, Planned: row.Planned, Promised: orZero(row.PromisedAt), Value: row.Value, SoldAt: orZero(row.SoldAt)}
		b.pieces[i] = BoardPiece{Plan: workflow.Plan{Piece: p, OnIt: map[id.ID][]string{}}, All: row.Stages, Finished: row.Stages, Comeback: row.ComebackID.UUID}
		b.ids[i], b.at[row.ID] = row.ID, &b.pieces[i]
	}
	for _, read := range []func(context.Context) error{b.clocks, b.drying, b.stages, b.dulled, b.placements} {
		if err := read(ctx); err != nil {
			return nil, err
		}
	}
	return b.pieces, nil
}

// board is the pieces that are being read.
type board struct {
	Store
	now    time.Time
	pieces []BoardPiece
	ids    []id.ID
	at     map[id.ID]*BoardPiece
	// Those with films whose recoat windows close, and when the first of these was laid: what was
	// dulled before it does not matter.
	filmed map[id.ID]time.Time
}

// stages reads those that wait for no other, and those that somebody is on the clock at.
func (b *board) stages(ctx context.Context) error {
	rows, err := b.q.BoardLinks(ctx, b.ids)
	if err != nil {
		return err
	}
	links := make([]workflow.Link, len(rows))
	for i, row := range rows {
		b.at[row.PieceID].Finished--
		links[i] = workflow.Link{ID: row.ID, After: row.AfterIds}
	}
	next := workflow.Begins(links)
	for _, p := range b.pieces {
		next = slices.AppendSeq(next, maps.Keys(p.OnIt))
	}
	found, err := b.q.BoardStages(ctx, notNil(next))
	slices.SortFunc(found, func(a, b storedb.BoardStagesRow) int { return int(a.Position - b.Position) })
	for i := range found {
		p := b.at[found[i].PieceID]
		p.Stages = append(p.Stages, fromBoardStage(&found[i]))
	}
	return err
}

func fromBoardStage(row *storedb.BoardStagesRow) workflow.Stage {
	s := workflow.Stage{ID: row.ID, Piece: row.PieceID, Part: row.PartID.UUID, PartLabel: row.PartLabel, Key: row.Key, Kind: row.Kind, Position: row.Position,
		SentBack: make([]time.Time, row.Pass-1), // only how often is asked
		Batch:    row.BatchID.UUID, AssignedTo: row.AssignedTo, Finish: workflow.Finish{Needs: finish.Needs(row.Needs), ProductName: row.ProductName, Station: row.Station}}
	for _, name := range row.HelperNames {
		s.Helpers = append(s.Helpers, workflow.Helper{Name: name})
	}
	return s
}

// dulled reads the finished stages that Wait asks for.
func (b *board) dulled(ctx context.Context) error {
	var films storedb.BoardDulledParams
	for piece, since := range b.filmed {
		films.Pieces, films.Since = append(films.Pieces, piece), append(films.Since, since)
	}
	if len(films.Pieces) == 0 {
		return nil
	}
	rows, err := b.q.BoardDulled(ctx, films)
	for _, row := range rows {
		p := b.at[row.PieceID]
		p.Stages = append(p.Stages, workflow.Stage{Piece: row.PieceID, Part: row.PartID.UUID, Kind: row.Kind, FinishedAt: orZero(row.FinishedAt)})
	}
	return err
}

func (b *board) clocks(ctx context.Context) error {
	rows, err := b.q.OpenOnTheClock(ctx)
	for _, row := range rows {
		if p := b.at[row.PieceID]; p != nil {
			p.OnIt[row.StageID] = append(p.OnIt[row.StageID], row.DisplayName)
		}
	}
	return err
}

// drying reads when what dries reaches what, of which SaveDryClock keeps the likely times
// beside the windows. What has dried holds nothing up, and only the last film of each part
// closes.
func (b *board) drying(ctx context.Context) error {
	rows, err := b.q.BoardDryClocks(ctx, b.ids)
	last := map[[2]id.ID]*storedb.BoardDryClocksRow{}
	for i := range rows {
		row, part := &rows[i], [2]id.ID{rows[i].PieceID, rows[i].PartID.UUID}
		if before := last[part]; row.Kind == string(workflow.FilmDries) && (before == nil || !row.LaidAt.Before(before.LaidAt)) {
			last[part] = row
		}
	}
	for i := range rows {
		row := &rows[i]
		isLast := last[[2]id.ID{row.PieceID, row.PartID.UUID}] == row
		if isLast && row.ClosesAt != nil {
			b.film(row)
		}
		if isLast || !over(row, b.now) {
			p := b.at[row.PieceID]
			p.Clocks = append(p.Clocks, fromBoardClock(row))
		}
	}
	return err
}

// film notes since when what was dulled matters.
func (b *board) film(row *storedb.BoardDryClocksRow) {
	if since, known := b.filmed[row.PieceID]; !known || row.LaidAt.Before(since) {
		b.filmed[row.PieceID] = row.LaidAt
	}
}

// over reports whether nothing of a clock is to come.
func over(row *storedb.BoardDryClocksRow, now time.Time) bool {
	return likely(row.SandAt).Passed(now) && likely(row.RecoatAt).Passed(now) && likely(row.CuredAt).Passed(now)
}

func fromBoardClock(row *storedb.BoardDryClocksRow) workflow.DryClock {
	return workflow.DryClock{Stage: row.StageID, Piece: row.PieceID, Part: row.PartID.UUID, Kind: workflow.DryKind(row.Kind), Laid: row.LaidAt,
		Windows: map[drying.Milestone]drying.Window{drying.DryToSand: likely(row.SandAt), drying.DryToRecoat: likely(row.RecoatAt),
			drying.Cured: likely(row.CuredAt), drying.RecoatCloses: likely(orZero(row.ClosesAt))}}
}

// likely is a window of which only the middle is known; the epoch is never.
func likely(at time.Time) drying.Window {
	if at.Unix() == 0 {
		at = time.Time{}
	}
	return drying.Window{Likely: at}
}

func (b *board) placements(ctx context.Context) error {
	rows, err := b.q.BoardPlacements(ctx, b.ids)
	for _, row := range rows {
		p := b.at[row.PieceID]
		p.Placements = append(p.Placements, workflow.Placement{ID: row.ID, Piece: row.PieceID, PieceTag: p.Piece.Tag, Part: row.PartID, PartLabel: row.Label, Takes: row.Takes,
			Station: row.StationID.UUID, StationWord: row.Word, Outside: row.OutsideID.UUID, Firm: row.Firm, From: row.FromAt})
		if row.OutsideID.Valid {
			p.Away = append(p.Away, row.PartID)
		}
	}
	return err
}

// StationID finds a station by its word. Fault: STATION_NOT_FOUND.
func (s Store) StationID(ctx context.Context, word string) (id.ID, error) {
	station, err := s.q.StationByWord(ctx, word)
	if errors.Is(err, pgx.ErrNoRows) {
		return id.Nil, NoStation(word)
	}
	return station, err
}
