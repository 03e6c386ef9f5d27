package workflow

import (
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/apportion"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// A stretch is what a person is on from one instant to another: one entry, or all entries
// of a batch. While it runs, those of a batch run side by side; when it ends they are put
// one after the other, so that hours, wages and the books need not know of batches:
//
//	runs    10:00 ── front A ─▶      ends    10:00 front A 10:30 front B 10:48 front C 11:00
//	        10:00 ── front B ─▶
//	        10:00 ── front C ─▶

// onBatch makes one stretch of clock-ons at stages of a batch, whose shares are in their order.
func onBatch(b Batch, shares []Share, starts []Started) {
	for i := range starts {
		e := &starts[i].Entry
		e.Batch, e.Stretch, e.StretchStart, e.Held, e.Weight = b.ID, starts[0].Entry.ID, e.Start, i > 0, shares[i].Weight
	}
}

// Off ends what a person is on. Faults: CLOCK_ENDS_BEFORE_START, CLOCK_TOO_LONG,
// CLOCK_TOO_SHORT.
func Off(entries []Entry, at time.Time) error {
	start := entries[0].Start
	if err := (Entry{Start: start, End: at}).checkLength(); err != nil {
		return err
	}
	return lay(entries, start, at)
}

// lay puts the entries of a stretch one after the other between two instants, by their
// weights. The seconds are whole but for the last entry, which takes what is left of one.
func lay(entries []Entry, start, end time.Time) error {
	if len(entries) == 1 && entries[0].Stretch == id.Nil {
		entries[0].Start, entries[0].End = start, end
		return nil
	}
	if least := start.Add(time.Duration(len(entries)) * time.Second); end.Before(least) {
		return tooShort(len(entries), least.In(end.Location()))
	}
	shares := seconds(entries, end.Sub(start))
	from := start
	for i := range entries {
		e := &entries[i]
		e.Start, e.End, e.Held = from, from.Add(shares[i]), false
		e.StretchStart, e.StretchEnd = start, end
		from = e.End
	}
	entries[len(entries)-1].End = end
	return nil
}

// Left is the stage that somebody leaves who says that it is finished: entries are the stretch
// that they ended. Faults: NOTHING_TO_FINISH, STAGE_IN_BATCH.
func Left(entries []Entry) (piece, stage id.ID, err error) {
	switch e := entries[0]; {
	case e.Indirect != "":
		return id.Nil, id.Nil, fault.New(fault.Precondition, "NOTHING_TO_FINISH", "%s leaves %s, which is no stage, so there is nothing to finish. Switch without finishing.", e.PersonName, e.On()).At("finish")
	case e.Batch != id.Nil:
		return id.Nil, id.Nil, fault.New(fault.Precondition, "STAGE_IN_BATCH", "%s leaves the batch %q, whose stages are finished together. Switch without finishing, or clock off; then finish the batch.", e.PersonName, e.BatchName).At("finish")
	default:
		return e.Piece, e.Stage, nil
	}
}

// tooShort is the refusal of a stretch that ends before each of its stages got a second.
func tooShort(stages int, least time.Time) error {
	least = least.Add(time.Second - 1).Truncate(time.Second) // said in whole seconds, of which this is the first that does
	return fault.New(fault.Invalid, "CLOCK_TOO_SHORT", "A stretch on %d stages takes at least a second on each, so it can be ended from %s on. Say an end that is at least %d seconds after its start; if nobody worked, take the stretch away then.",
		stages, least.Format("Mon 2 Jan 2006 15:04:05 MST"), stages).At("end_time")
}

// seconds splits a length over entries, of at least a second for each; nobody's share is empty.
func seconds(entries []Entry, length time.Duration) []time.Duration {
	weights := make([]int64, len(entries))
	for i, e := range entries {
		weights[i] = e.Weight
	}
	shares := apportion.Split(int64(length/time.Second), weights)
	for i := range shares {
		if shares[i] == 0 {
			shares[i]++
			shares[slices.Index(shares, slices.Max(shares))]--
		}
	}
	out := make([]time.Duration, len(shares))
	for i, s := range shares {
		out[i] = time.Duration(s) * time.Second
	}
	return out
}

// OnIndirect begins an entry on what belongs to no piece; other is another entry of the
// person's at that time, or nil. Faults: CLOCK_OPEN, PERSON_INACTIVE, CLOCK_OVERLAP.
func OnIndirect(p Person, other *Entry, kind string, s Start) (Started, error) {
	if err := other.running(p); err != nil {
		return Started{}, err
	}
	if err := p.there(s.At); err != nil {
		return Started{}, err
	}
	e := Entry{ID: s.Entry, Person: p.ID, PersonName: p.Name, Pass: 1, Indirect: kind, Start: s.At, Actor: s.Actor}
	return Started{Entry: e}, other.overlapped(beginAfter)
}

// RecordedIndirect makes an entry for what belongs to no piece and nobody clocked; see
// Facts.Vouched. Faults:
// PERSON_INACTIVE, CLOCK_ENDS_BEFORE_START, CLOCK_TOO_LONG, CLOCK_OVERLAP.
func RecordedIndirect(p Person, other *Entry, kind string, entry id.ID, start, end time.Time, actor, reason string, vouched bool) (Entry, error) {
	e := Entry{ID: entry, Person: p.ID, PersonName: p.Name, Pass: 1, Indirect: kind, Start: start, End: end, Actor: actor, Reason: reason}
	if err := p.there(start); err != nil && !vouched {
		return e, err
	}
	if err := e.checkLength(); err != nil {
		return e, err
	}
	return e, e.Beside(other)
}

// ClockOnBatch begins at all stages that are in an open batch, or at none: facts are of those,
// in their order. What the person has read is asked for where a stage warns of it. Faults:
// BATCH_NOT_OPEN, and as ClockOn.
func ClockOnBatch(b Batch, facts []Facts, start Start, newID func() id.ID) ([]Started, error) {
	if err := b.open(); err != nil {
		return nil, err
	}
	if err := knownCautions(facts, start.Read); err != nil {
		return nil, err
	}
	var all []Started
	for _, f := range facts {
		one := start
		one.Entry = newID()
		one.Read = f.Stage.Known(start.Read)
		on, err := ClockOn(f, one)
		if err != nil {
			return nil, f.of(err)
		}
		all = append(all, on)
	}
	onBatch(b, b.In(), all)
	return all, nil
}

// ofThePerson are refusals that are about somebody's time and not about a piece.
var ofThePerson = []string{"CLOCK_OPEN", "CLOCK_OVERLAP", "PERSON_INACTIVE", "CLOCK_ENDS_BEFORE_START", "CLOCK_TOO_LONG"}

// of says in a refusal of a batch which of its pieces it is about.
func (f Facts) of(err error) error {
	if slices.ContainsFunc(ofThePerson, func(reason string) bool { return fault.Is(err, reason) }) {
		return err
	}
	return OfPiece(err, f.Piece.Tag)
}

// Resume refuses to go on with what a person did not pause from. Fault: NOT_PAUSED.
func (e Entry) Resume(p Person) error {
	if e.Paused && !e.Open() {
		return nil
	}
	return fault.New(fault.Precondition, "NOT_PAUSED", "%s did not pause. Clock on instead, and say at what.", p.Name)
}

// knownCautions refuses to have read what no stage of a batch warns of. Fault:
// CAUTION_UNKNOWN.
func knownCautions(facts []Facts, said []string) error {
	for i, c := range said {
		if !slices.ContainsFunc(facts, func(f Facts) bool { return slices.Contains(f.Stage.Cautions, c) }) {
			return fault.New(fault.Invalid, "CAUTION_UNKNOWN", "No stage of the batch has a caution %q.", c).At(fmt.Sprintf("acknowledged_cautions[%d]", i))
		}
	}
	return nil
}

// RecordedBatch makes the entries of work on a batch that nobody clocked: facts are of the stages
// that were in it until the end of the work, in their order. Faults: as Recorded, and
// CLOCK_TOO_SHORT.
func RecordedBatch(b Batch, facts []Facts, start, end time.Time, actor, reason string, newID func() id.ID) ([]Entry, error) {
	var all []Started
	for _, f := range facts {
		e, err := Recorded(f, newID(), start, end, actor, reason)
		if err != nil {
			return nil, f.of(err)
		}
		all = append(all, Started{Entry: e})
	}
	onBatch(b, b.Until(end), all)
	entries := make([]Entry, len(all))
	for i, s := range all {
		entries[i] = s.Entry
	}
	return entries, lay(entries, start, end)
}
