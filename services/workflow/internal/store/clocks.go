package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// LockOpen locks a person and the pieces they are on the clock at, and reads the entries, in
// their order, and the pieces; with them it locks pieces that the same command will need.
// Faults: CLOCK_NOT_OPEN, PERSON_NOT_FOUND.
func (s Store) LockOpen(ctx context.Context, person id.ID, also ...id.ID) ([]workflow.Entry, map[id.ID]workflow.Piece, error) {
	if err := s.q.LockPerson(ctx, person); err != nil {
		return nil, nil, err
	}
	locked, err := s.q.LockPiecesOfOpenClock(ctx, storedb.LockPiecesOfOpenClockParams{Person: person, Also: notNil(also)})
	if err != nil {
		return nil, nil, err
	}
	pieces := make(map[id.ID]workflow.Piece, len(locked))
	for _, row := range locked {
		pieces[row.ID] = fromPiece(row)
	}
	rows, err := s.q.OpenEntries(ctx, person)
	if err != nil {
		return nil, nil, err
	}
	if len(rows) == 0 {
		return nil, nil, s.notOpen(ctx, person)
	}
	return fromEntries(rows), pieces, nil
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

// Stretch reads the entries that count of a stretch on a batch, in their order.
func (s Store) Stretch(ctx context.Context, stretch id.ID) ([]workflow.Entry, error) {
	rows, err := s.q.EntriesOfStretch(ctx, stretch)
	return fromEntries(rows), err
}

// LastEntry reads a person's last entry to begin, of those that count; false: there is none.
func (s Store) LastEntry(ctx context.Context, person id.ID) (workflow.Entry, bool, error) {
	row, err := s.q.LastEntry(ctx, person)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Entry{}, false, nil
	}
	return fromEntry(row), true, err
}

// Beside reads another entry of the person's that counts and lies between two instants; but
// for those that are named, which it is to replace. nil when there is none.
func (s Store) Beside(ctx context.Context, person id.ID, start, end time.Time, but ...id.ID) (*workflow.Entry, error) {
	row, err := s.q.EntryBeside(ctx, storedb.EntryBesideParams{Person: person, But: notNil(but), Started: start, Ended: end})
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	e := fromEntry(row)
	return &e, err
}

// LockHands locks a person and reads them, and another entry of theirs between two instants,
// or from the first on; nil when there is none. Fault: PERSON_NOT_FOUND.
func (s Store) LockHands(ctx context.Context, person id.ID, start, end time.Time) (workflow.Person, *workflow.Entry, error) {
	if err := s.q.LockPerson(ctx, person); err != nil {
		return workflow.Person{}, nil, err
	}
	p, err := s.Person(ctx, person)
	if err != nil {
		return p, nil, err
	}
	row, err := s.q.OtherEntry(ctx, storedb.OtherEntryParams{Person: person, Started: start, Ended: orNull(end)})
	if errors.Is(err, pgx.ErrNoRows) {
		return p, nil, nil
	}
	e := fromEntry(row)
	return p, &e, err
}

// SetPersonVersion writes how many events there are about a person.
func (s Store) SetPersonVersion(ctx context.Context, person id.ID, version int64) error {
	return s.q.SetPersonVersion(ctx, storedb.SetPersonVersionParams{ID: person, Version: version})
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

// Pieces locks and reads the floor's rows of some pieces, by id. Fault: STAGE_NOT_FOUND, when
// the floor does not know one of them.
func (s Store) Pieces(ctx context.Context, ids []id.ID) (map[id.ID]workflow.Piece, error) {
	rows, err := s.q.LockPieces(ctx, ids)
	if err != nil {
		return nil, err
	}
	pieces := make(map[id.ID]workflow.Piece, len(rows))
	for _, row := range rows {
		pieces[row.ID] = fromPiece(row)
	}
	for _, i := range ids {
		if _, known := pieces[i]; !known {
			return nil, errNoStage
		}
	}
	return pieces, nil
}

// KnownPiece locks and reads the floor's row of a piece, if it has one.
func (s Store) KnownPiece(ctx context.Context, piece id.ID) (workflow.Piece, bool, error) {
	p, err := s.Piece(ctx, piece)
	if fault.Is(err, "STAGE_NOT_FOUND") {
		return p, false, nil
	}
	return p, err == nil, err
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
	row := storedb.InsertEntryParams{ID: e.ID, PersonID: e.Person, PieceID: nullable(e.Piece), StageID: nullable(e.Stage), Pass: e.Pass,
		StartedAt: e.Start, EndedAt: orNull(e.End), Corrects: nullable(e.Corrects), Superseded: e.Superseded, Actor: e.Actor, Reason: e.Reason,
		Indirect: e.Indirect, BatchID: nullable(e.Batch), StretchID: nullable(e.Stretch), StretchFrom: orNull(e.StretchStart), StretchTo: orNull(e.StretchEnd),
		Held: e.Held, StationID: nullable(e.Station), Paused: e.Paused, Device: e.Device, SkewMs: e.Skew.Milliseconds()}
	return s.q.InsertEntry(ctx, row)
}

// EndEntry writes the times of an entry that was open.
func (s Store) EndEntry(ctx context.Context, e workflow.Entry) error {
	return s.q.EndEntry(ctx, storedb.EndEntryParams{ID: e.ID, StartedAt: e.Start, EndedAt: &e.End, StretchTo: orNull(e.StretchEnd), Paused: e.Paused,
		Device: e.Device, SkewMs: e.Skew.Milliseconds()})
}

// SupersedeEntry writes that an entry no longer counts. It comes before the insert of its
// replacement, which usually overlaps it.
func (s Store) SupersedeEntry(ctx context.Context, e workflow.Entry) error {
	return s.q.SupersedeEntry(ctx, storedb.SupersedeEntryParams{ID: e.ID, SupersededBy: e.SupersededBy, SupersededAt: orNull(e.SupersededAt), SupersededReason: e.SupersededReason})
}

// Filter chooses clock entries, or what hours are summed up; id.Nil or a zero time leaves a
// field open.
type Filter struct {
	Person, Piece id.ID
	From, To      time.Time // of the start; of hours of what lies in between
}

// Mark is a place in the list of entries.
type Mark struct {
	Start time.Time
	ID    id.ID
}

// Entries reads up to limit entries after a mark, by start.
func (s Store) Entries(ctx context.Context, f Filter, after Mark, limit int32) ([]workflow.Entry, error) {
	rows, err := s.q.ListEntries(ctx, storedb.ListEntriesParams{
		Person: nullable(f.Person), Piece: nullable(f.Piece), FromTime: orNull(f.From), ToTime: orNull(f.To), AfterStart: after.Start, AfterID: after.ID, PageLimit: limit})
	return fromEntries(rows), err
}

func fromEntries(rows []storedb.Entry) []workflow.Entry {
	entries := make([]workflow.Entry, len(rows))
	for i, row := range rows {
		entries[i] = fromEntry(row)
	}
	return entries
}

func fromEntry(row storedb.Entry) workflow.Entry {
	return workflow.Entry{
		ID: row.ID, Person: row.PersonID, PersonName: row.DisplayName, Piece: row.PieceID.UUID, PieceTag: row.PieceTag,
		Stage: row.StageID.UUID, StageKey: row.Key, StageKind: row.Kind, PartLabel: row.PartLabel, Pass: row.Pass, Indirect: row.Indirect,
		Start: row.StartedAt, End: orZero(row.EndedAt), Corrects: row.Corrects.UUID, ReplacedBy: row.ReplacedBy.UUID, Superseded: row.Superseded,
		Batch: row.BatchID.UUID, Stretch: row.StretchID.UUID, StretchStart: orZero(row.StretchFrom), StretchEnd: orZero(row.StretchTo), Held: row.Held, Weight: row.Weight,
		Station: row.StationID.UUID, StationWord: row.Station, Paused: row.Paused, Device: row.Device, Skew: time.Duration(row.SkewMs) * time.Millisecond,
		Actor: row.Actor, Reason: row.Reason, SupersededBy: row.SupersededBy, SupersededAt: orZero(row.SupersededAt), SupersededReason: row.SupersededReason,
		Forgotten: row.Forgotten.UUID,
	}
}
