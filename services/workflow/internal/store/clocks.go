package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// ClockOnFacts locks the person and the piece and reads, in the same round trip, what a
// clock-on is decided from, or with an end the record of an entry. Faults: STAGE_NOT_FOUND,
// PERSON_NOT_FOUND.
func (s Store) ClockOnFacts(ctx context.Context, person, piece, stage id.ID, start, end time.Time) (workflow.Facts, error) {
	if err := s.q.LockPerson(ctx, person); err != nil {
		return workflow.Facts{}, err
	}
	if err := s.q.LockPiece(ctx, piece); err != nil {
		return workflow.Facts{}, err
	}
	row, err := s.q.ClockOnFacts(ctx, storedb.ClockOnFactsParams{Stage: stage, Person: person, Started: start, Ended: orNull(end)})
	switch {
	case err != nil:
		return workflow.Facts{}, err
	case !row.StageID.Valid || row.PieceID.UUID != piece:
		return workflow.Facts{}, errNoStage
	case !row.PersonID.Valid:
		return workflow.Facts{}, errNoPerson
	}
	return fromFacts(row)
}

func fromFacts(row storedb.ClockOnFactsRow) (workflow.Facts, error) {
	ground, err := fromGround(row.Tests, row.Wet)
	if err != nil {
		return workflow.Facts{}, err
	}
	coating, err := fromJSON[workflow.Coating](row.Coating)
	if err != nil {
		return workflow.Facts{}, fmt.Errorf("coating of stage %s: %w", row.StageID.UUID, err)
	}
	f := workflow.Facts{
		Piece: workflow.Piece{ID: row.PieceID.UUID, Tag: *row.Tag, TakenIn: orZero(row.TakenInAt), Scrapped: *row.Scrapped, Planned: true, Version: *row.Version},
		Stage: workflow.Stage{ID: row.StageID.UUID, Piece: row.PieceID.UUID, Part: row.PartID.UUID, PartLabel: *row.PartLabel, Key: *row.Key, Kind: *row.Kind,
			Skill: *row.Skill, SentBack: row.SendBackTimes, FinishedAt: orZero(row.FinishedAt), Assignee: row.AssigneeID.UUID, AssignedTo: orZero(row.AssignedTo),
			Finish: workflow.Finish{Needs: finish.Needs(*row.Needs), Cautions: row.Cautions, DisturbsOld: *row.DisturbsOld, Zone: row.ZoneID.UUID, Coating: coating}},
		Person:     workflow.Person{ID: row.PersonID.UUID, Name: *row.DisplayName, Skills: row.Skills},
		OpenBefore: row.OpenBefore, Ground: ground, Read: row.HasRead,
	}
	if row.OtherID.Valid {
		f.Other = &workflow.Entry{ID: row.OtherID.UUID, PersonName: f.Person.Name, StageKey: *row.OtherKey, PartLabel: *row.OtherPart,
			PieceTag: *row.OtherTag, Start: *row.OtherStart, End: orZero(row.OtherEnd)}
	}
	return f, nil
}

// SaveRead keeps what a person has read of a stage's cautions in the pass of their entry.
func (s Store) SaveRead(ctx context.Context, e workflow.Entry, cautions []string, at time.Time) error {
	return s.q.SaveAcknowledgement(ctx, storedb.SaveAcknowledgementParams{StageID: e.Stage, Pass: e.Pass, PersonID: e.Person, Cautions: notNil(cautions), SaidAt: at})
}

// LockOpen locks a person and the piece they are on the clock at, and reads the entry and
// the piece. Faults: CLOCK_NOT_OPEN, PERSON_NOT_FOUND.
func (s Store) LockOpen(ctx context.Context, person id.ID) (workflow.Entry, workflow.Piece, error) {
	if err := s.q.LockPerson(ctx, person); err != nil {
		return workflow.Entry{}, workflow.Piece{}, err
	}
	if err := s.q.LockPieceOfOpenClock(ctx, person); err != nil {
		return workflow.Entry{}, workflow.Piece{}, err
	}
	row, err := s.q.OpenEntry(ctx, person)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Entry{}, workflow.Piece{}, s.notOpen(ctx, person)
	}
	piece := workflow.Piece{ID: row.PieceID, Tag: row.PieceTag, TakenIn: orZero(row.PieceTakenInAt), Scrapped: row.PieceScrapped, Planned: true, Version: row.PieceVersion}
	return fromEntry(storedb.EntryByIDRow(row)), piece, err
}

func (s Store) notOpen(ctx context.Context, person id.ID) error {
	p, err := s.Person(ctx, person)
	if err != nil {
		return err
	}
	return fault.New(fault.Precondition, "CLOCK_NOT_OPEN", "%s is not on the clock, so there is nothing to clock off.", p.Name)
}

// Entry reads an entry. Fault: CLOCK_ENTRY_NOT_FOUND.
func (s Store) Entry(ctx context.Context, entry id.ID) (workflow.Entry, error) {
	row, err := s.q.EntryByID(ctx, entry)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Entry{}, fault.New(fault.NotFound, "CLOCK_ENTRY_NOT_FOUND", "There is no such clock entry.").At("clock_entry")
	}
	return fromEntry(row), err
}

// Beside reads another entry of the person's that counts and lies at an entry's times; nil
// when there is none.
func (s Store) Beside(ctx context.Context, e workflow.Entry) (*workflow.Entry, error) {
	row, err := s.q.EntryBeside(ctx, storedb.EntryBesideParams{Person: e.Person, But: e.Corrects, Started: e.Start, Ended: e.End})
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	return &workflow.Entry{ID: row.ID, PersonName: row.DisplayName, StageKey: row.Key, PartLabel: row.PartLabel,
		PieceTag: row.PieceTag, Start: row.StartedAt, End: orZero(row.EndedAt)}, err
}

// LastWork reads who worked last on a stage in its present pass, and until when; nothing
// when nobody did.
func (s Store) LastWork(ctx context.Context, piece, stage id.ID) (workflow.Entry, error) {
	row, err := s.q.LastWork(ctx, storedb.LastWorkParams{Piece: piece, Stage: stage})
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Entry{}, nil
	}
	return workflow.Entry{PersonName: row.DisplayName, End: orZero(row.EndedAt)}, err
}

// LockPerson keeps others from changing the person's clock until the transaction ends.
func (s Store) LockPerson(ctx context.Context, person id.ID) error {
	return s.q.LockPerson(ctx, person)
}

// Piece locks and reads the floor's row of a piece. Fault: STAGE_NOT_FOUND, when the floor
// does not know the piece and so has no stage of it.
func (s Store) Piece(ctx context.Context, piece id.ID) (workflow.Piece, error) {
	if err := s.q.LockPiece(ctx, piece); err != nil {
		return workflow.Piece{}, err
	}
	row, err := s.q.GetPiece(ctx, piece)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Piece{}, errNoStage
	}
	return fromPiece(row), err
}

// Stage reads one stage of a piece. Fault: STAGE_NOT_FOUND.
func (s Store) Stage(ctx context.Context, piece, stage id.ID) (workflow.Stage, error) {
	row, err := s.q.StageByID(ctx, stage)
	if errors.Is(err, pgx.ErrNoRows) || (err == nil && row.PieceID != piece) {
		return workflow.Stage{}, errNoStage
	}
	if err != nil {
		return workflow.Stage{}, err
	}
	return fromStage(storedb.StagesOfRow(row))
}

// InsertEntry writes a new entry. Faults at commit: CLOCK_OVERLAP, CLOCK_SUPERSEDED; the
// first says less than what the domain says of the entry that ClockOnFacts or Beside gave.
func (s Store) InsertEntry(ctx context.Context, e workflow.Entry) error {
	row := storedb.InsertEntryParams{ID: e.ID, PersonID: e.Person, PieceID: e.Piece, StageID: e.Stage, Pass: e.Pass,
		StartedAt: e.Start, EndedAt: orNull(e.End), Corrects: nullable(e.Corrects), Superseded: e.Superseded, Actor: e.Actor, Reason: e.Reason}
	return s.q.InsertEntry(ctx, row)
}

// EndEntry writes the end of an open entry.
func (s Store) EndEntry(ctx context.Context, e workflow.Entry) error {
	return s.q.EndEntry(ctx, storedb.EndEntryParams{ID: e.ID, EndedAt: &e.End})
}

// SupersedeEntry marks an entry as no longer counting. It comes before the insert of its
// replacement, which usually overlaps it.
func (s Store) SupersedeEntry(ctx context.Context, entry id.ID) error {
	return s.q.SupersedeEntry(ctx, entry)
}

// Filter chooses clock entries; id.Nil leaves a field open.
type Filter struct{ Person, Piece id.ID }

// Mark is a place in the list of entries.
type Mark struct {
	Start time.Time
	ID    id.ID
}

// Entries reads up to limit entries after a mark, by start.
func (s Store) Entries(ctx context.Context, f Filter, after Mark, limit int32) ([]workflow.Entry, error) {
	rows, err := s.q.ListEntries(ctx, storedb.ListEntriesParams{
		Person: nullable(f.Person), Piece: nullable(f.Piece), AfterStart: after.Start, AfterID: after.ID, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	entries := make([]workflow.Entry, len(rows))
	for i, row := range rows {
		entries[i] = fromEntry(storedb.EntryByIDRow(row))
	}
	return entries, nil
}

func fromEntry(row storedb.EntryByIDRow) workflow.Entry {
	return workflow.Entry{
		ID: row.ID, Person: row.PersonID, PersonName: row.DisplayName, Piece: row.PieceID, PieceTag: row.PieceTag,
		Stage: row.StageID, StageKey: row.Key, StageKind: row.Kind, PartLabel: row.PartLabel, Pass: row.Pass,
		Start: row.StartedAt, End: orZero(row.EndedAt), Corrects: row.Corrects.UUID, ReplacedBy: row.ReplacedBy.UUID, Superseded: row.Superseded, Actor: row.Actor, Reason: row.Reason,
	}
}
