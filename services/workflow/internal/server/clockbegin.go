package server

import (
	"context"
	"slices"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// target is what somebody is on: a stage, all stages of a batch, or what belongs to no piece.
type target struct {
	piece, stage, batch id.ID
	indirect            string
}

// targeted is a request that names a target.
type targeted interface {
	GetStage() string
	GetBatch() string
	GetIndirect() string
}

// readTarget reads the one that is named. Fault: TARGET_MISSING.
func readTarget(r targeted) (t target, err error) {
	named := 0
	for _, name := range []string{r.GetStage(), r.GetBatch(), r.GetIndirect()} {
		if name != "" {
			named++
		}
	}
	switch {
	case named != 1:
		return t, fault.New(fault.Invalid, "TARGET_MISSING", "Name one of stage, batch and indirect: what the time is for.").At("stage")
	case r.GetStage() != "":
		t.piece, t.stage, err = stageName("stage", r.GetStage())
	case r.GetBatch() != "":
		t.batch, err = id.One("batch", r.GetBatch(), "batches")
	default:
		t.indirect = r.GetIndirect()
	}
	return t, err
}

// targetOf is what an entry was on.
func targetOf(e workflow.Entry) target {
	if e.Batch != id.Nil {
		return target{batch: e.Batch}
	}
	return target{piece: e.Piece, stage: e.Stage, indirect: e.Indirect}
}

// pieces are those that it is on.
func (t target) pieces(ctx context.Context, st store.Store) ([]id.ID, error) {
	switch {
	case t.stage != id.Nil:
		return []id.ID{t.piece}, nil
	case t.batch != id.Nil:
		b, err := st.Batch(ctx, t.batch)
		return b.Pieces(), err
	}
	return nil, nil
}

// begin is a clock-on as it is asked for.
type begin struct {
	target
	person   id.ID
	at       time.Time
	actor    string
	read     []string // ids of cautions that the person says to have read
	override string
	station  string // its word; empty: nobody said
	sentBy
}

// sentBy is the device that kept an entry while it was offline; its zero: none did.
type sentBy struct {
	device string
	skew   time.Duration
}

// mark notes it on an entry.
func (b sentBy) mark(e *workflow.Entry) { e.Device, e.Skew = b.device, b.skew }

// beginning is a request that begins a clock.
type beginning interface {
	targeted
	GetPerson() string
	GetAcknowledgedCautions() []string
	GetOverrideReason() string
	GetStation() string
}

func (s *Server) decodeBegin(ctx context.Context, r beginning, field string, ts *timestamppb.Timestamp) (b begin, err error) {
	b = begin{actor: caller.Of(ctx).Actor, read: r.GetAcknowledgedCautions(), override: r.GetOverrideReason()}
	if b.person, b.at, err = s.decodeEnd(r.GetPerson(), field, ts); err != nil {
		return b, err
	}
	if b.target, err = readTarget(r); err != nil || r.GetStation() == "" {
		return b, err
	}
	b.station, err = stationWord("station", r.GetStation())
	return b, err
}

// begun is what a clock-on came to, and what is to be known of it.
type begun struct {
	entries []*workflowv1.ClockEntry
	notices []string
}

// begin clocks somebody on, and tells it.
func (s *Server) begin(ctx context.Context, tx *pg.Tx, b begin, now time.Time) (out begun, err error) {
	st := store.New(tx)
	h := heads{pieces: map[id.ID]workflow.Piece{}}
	started, err := s.start(ctx, tx, b, &h, now)
	if err != nil {
		return out, err
	}
	for _, on := range started {
		b.mark(&on.Entry)
		if on.Carried != nil {
			if h.pieces[on.Carried.Piece], err = s.carry(ctx, tx, h.pieces[on.Carried.Piece], *on.Carried, now); err != nil {
				return out, err
			}
		}
		if err := saveStart(ctx, st, on, now); err != nil {
			return out, err
		}
		if err := s.noteEntry(ctx, tx, &h, on.Entry, b.at, now, clockedOn(on)); err != nil {
			return out, err
		}
		out.add(on.Entry, h.pieces[on.Entry.Piece].Notice(now.In(s.Shop.Zone)))
	}
	return out, h.save(ctx, st)
}

// add adds an entry with the notice about its piece, which is said once.
func (b *begun) add(e workflow.Entry, notice string) {
	b.entries = append(b.entries, encodeEntry(e))
	if notice != "" && !slices.Contains(b.notices, notice) {
		b.notices = append(b.notices, notice)
	}
}

// start decides a clock-on, on whatever it is.
func (s *Server) start(ctx context.Context, tx *pg.Tx, b begin, h *heads, now time.Time) ([]workflow.Started, error) {
	st := store.New(tx)
	switch {
	case b.batch != id.Nil:
		return s.startBatch(ctx, tx, b, h, now)
	case b.stage != id.Nil:
		on, err := s.startStage(ctx, st, b, h)
		return []workflow.Started{on}, err
	}
	person, other, err := st.LockHands(ctx, b.person, b.at, time.Time{})
	if err != nil {
		return nil, err
	}
	if err := s.other(ctx, st, other); err != nil {
		return nil, err
	}
	h.person = person
	on, err := workflow.OnIndirect(person, other, b.indirect, b.start())
	if err != nil {
		return nil, err
	}
	on.Entry.StationWord = b.station
	on.Entry.Station, err = stationOrNone(ctx, st, b.station)
	return []workflow.Started{on}, err
}

// other makes another entry of the person's, or none, ready to be told of: one that runs stands
// in the way whatever it is on, so its batch is asked for only then.
func (s *Server) other(ctx context.Context, st store.Store, e *workflow.Entry) error {
	s.local(e)
	if e == nil || !e.Open() || e.Batch == id.Nil {
		return nil
	}
	b, err := st.Batch(ctx, e.Batch)
	e.BatchName = b.Name
	return err
}

func (b begin) start() workflow.Start {
	return workflow.Start{Entry: id.New(), At: b.at, Actor: b.actor, Read: b.read, Override: b.override}
}

func (s *Server) startStage(ctx context.Context, st store.Store, b begin, h *heads) (workflow.Started, error) {
	facts, err := startFacts(ctx, st, b.person, b.piece, b.stage, b.at)
	if err != nil {
		return workflow.Started{}, err
	}
	if err := s.other(ctx, st, facts.Other); err != nil {
		return workflow.Started{}, err
	}
	h.pieces[facts.Piece.ID] = facts.Piece
	on, err := workflow.ClockOn(facts, b.start())
	if err != nil {
		return on, b.orAnother(ctx, st, []workflow.Facts{facts}, err)
	}
	started := []workflow.Started{on}
	err = settle(ctx, st, b, []workflow.Facts{facts}, started)
	return started[0], b.orAnother(ctx, st, []workflow.Facts{facts}, err)
}

// orAnother says in the refusal of the person who could begin instead; see another.
func (b begin) orAnother(ctx context.Context, st store.Store, facts []workflow.Facts, refusal error) error {
	stages := make([]workflow.Stage, len(facts))
	for i, f := range facts {
		stages[i] = f.Stage
	}
	return another(ctx, st, stages, b.station, b.at, b.barred(ctx, st, facts, refusal))
}

// barred puts that the person may not work there at all before the cautions that they would have to
// read first.
func (b begin) barred(ctx context.Context, st store.Store, facts []workflow.Facts, refusal error) error {
	if !fault.Is(refusal, "CAUTIONS_NOT_ACKNOWLEDGED") {
		return refusal
	}
	for _, f := range facts {
		if err := mayUse(ctx, st, f.Person, f.Stage, b.station); err != nil {
			return err
		}
	}
	return refusal
}

// startBatch begins at all stages of a batch, or at none; those of scrapped pieces leave it.
func (s *Server) startBatch(ctx context.Context, tx *pg.Tx, b begin, h *heads, now time.Time) ([]workflow.Started, error) {
	st := store.New(tx)
	if err := st.LockPerson(ctx, b.person); err != nil {
		return nil, err
	}
	batch, pieces, err := st.LockBatchWhole(ctx, b.batch)
	if err != nil {
		return nil, err
	}
	if err := s.dropScrapped(ctx, tx, &batch, pieces, b.at, now); err != nil {
		return nil, err
	}
	h.pieces = pieces
	var facts []workflow.Facts
	for _, share := range batch.In() {
		f, err := startFacts(ctx, st, b.person, share.Piece, share.Stage, b.at)
		if err != nil {
			return nil, err
		}
		if err := s.other(ctx, st, f.Other); err != nil {
			return nil, err
		}
		facts = append(facts, f)
	}
	started, err := workflow.ClockOnBatch(batch, facts, b.start(), id.New)
	if err == nil {
		err = settle(ctx, st, b, facts, started)
	}
	return started, b.orAnother(ctx, st, facts, err)
}

// startFacts reads what a clock-on is decided from: in one round trip, and for a stage that
// lays a coat in another the air there.
func startFacts(ctx context.Context, st store.Store, person, piece, stage id.ID, at time.Time) (workflow.Facts, error) {
	facts, err := st.ClockOnFacts(ctx, person, piece, stage, at, time.Time{})
	if err != nil {
		return facts, err
	}
	facts.Ground.Air, err = airFor(ctx, st, facts.Stage, at)
	return facts, err
}

// airFor reads the air in which a stage lays a coat, as it was last read before an instant,
// which may be long past; nil for one that lays none.
func airFor(ctx context.Context, st store.Store, stage workflow.Stage, at time.Time) (*workflow.Air, error) {
	if stage.Coating == nil {
		return nil, nil
	}
	return st.LastAir(ctx, stage.Zone, at)
}

// saveStart writes the entry, and what the person now has read.
func saveStart(ctx context.Context, st store.Store, started workflow.Started, now time.Time) error {
	if err := st.InsertEntry(ctx, started.Entry); err != nil || len(started.Read) == 0 {
		return err
	}
	return st.SaveRead(ctx, started.Entry, started.AllRead, now)
}
