package consume_test

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/consume"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// keep saves equipment that runs at topcoats, at a station or anywhere, before anybody worked.
func (s *shop) keep(t *testing.T, name, station string) materials.Equipment {
	t.Helper()
	e := materials.Equipment{ID: id.New(), Name: name, Kind: "sprayer", HourlyCost: 6_00, Every: 2, StageKinds: []string{"topcoat_coat"}, Station: station}
	return s.keepFrom(t, monday, e)
}

// keepFrom saves equipment as it is from an instant on.
func (s *shop) keepFrom(t *testing.T, from time.Time, e materials.Equipment) materials.Equipment {
	t.Helper()
	e.Version++
	err := s.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error { return store.New(tx).SaveEquipment(ctx, e, from) })
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// ran is how long equipment ran, in words.
func (s *shop) ran(t *testing.T) (out []string) {
	t.Helper()
	err := s.Snapshot(t.Context(), func(q pg.Querier) error {
		st := store.New(q)
		hours, err := st.EquipmentHours(t.Context())
		if err != nil {
			return err
		}
		all, err := st.Equipment(t.Context(), true)
		for _, e := range all {
			e.Hours = hours[e.ID]
			out = append(out, e.Name+" "+e.Total().String())
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func at(station string, c *eventsv1.ClockSpan) *eventsv1.ClockSpan { c.Station = station; return c }

// The sprayer runs in the booth alone, the compressor wherever a topcoat is put on.
func TestHandler_EquipmentRuns(t *testing.T) {
	s, piece := open(t), id.New()
	s.keep(t, "compressor", "")
	s.keep(t, "sprayer", "booth")
	coat, sand := stage("topcoat-1", id.Nil, ""), stage("sand", id.Nil, "")
	sand.Kind = "sand"
	s.must(t, event("workflow", 1, piece, clockedOff(at("booth", span(coat, 0, 1.5)))), event("workflow", 2, piece, clockedOff(at("bench", span(coat, 2, 3)))),
		event("workflow", 3, piece, clockedOff(at("booth", span(sand, 4, 5)))))
	same(t, "ran", s.ran(t), "compressor 2h30m0s", "sprayer 1h30m0s")
}

// A correction is another entry in place of the one before; on another piece it is told of both,
// in whichever order; one that is taken away leaves nothing.
func TestHandler_EquipmentRuns_Corrected(t *testing.T) {
	s, piece, other := open(t), id.New(), id.New()
	s.keep(t, "sprayer", "")
	coat, theirs := stage("topcoat-1", id.Nil, ""), stage("topcoat-1", id.Nil, "")
	was, is, moved := span(coat, 0, 2), span(coat, 0, 1), span(theirs, 0, 1)
	s.must(t, event("workflow", 1, piece, clockedOff(was)))
	s.must(t, event("workflow", 2, piece, corrected(was, is)))
	same(t, "an hour less", s.ran(t), "sprayer 1h0m0s")
	s.must(t, event("workflow", 1, other, corrected(nil, moved)))
	s.must(t, event("workflow", 3, piece, corrected(is, nil)))
	same(t, "on the other piece", s.ran(t), "sprayer 1h0m0s")
	s.must(t, event("workflow", 2, other, corrected(moved, nil)))
	same(t, "taken away", s.ran(t), "sprayer 0s")
}

// The same events once more, as after a backup, change nothing.
func TestHandler_EquipmentRuns_Repeated(t *testing.T) {
	s, piece := open(t), id.New()
	s.keep(t, "sprayer", "")
	coat := stage("topcoat-1", id.Nil, "")
	off := event("workflow", 1, piece, clockedOff(span(coat, 0, 2)))
	s.must(t, off)
	s.write(t, `DELETE FROM applied`)
	s.must(t, off)
	same(t, "ran", s.ran(t), "sprayer 2h0m0s")
}

// Each share of a stretch on a batch is an entry of its own: together they are the stretch.
func TestHandler_EquipmentRuns_Batch(t *testing.T) {
	s, one, two := open(t), id.New(), id.New()
	s.keep(t, "sprayer", "")
	a, b := stage("topcoat-1", id.Nil, ""), stage("topcoat-1", id.Nil, "")
	s.must(t, event("workflow", 1, one, clockedOff(span(a, 0, 0.25))), event("workflow", 1, two, clockedOff(span(b, 0.25, 1))))
	same(t, "ran", s.ran(t), "sprayer 1h0m0s")
}

// Cleaning belongs to no piece and no stage, and what runs while somebody cleans is not known.
func TestHandler_EquipmentRuns_NotAtWhatIsNoStage(t *testing.T) {
	s, person := open(t), id.New()
	s.keep(t, "sprayer", "")
	off := event("workflow", 1, person, clockedOff(&eventsv1.ClockSpan{EntryId: id.New().String(), Indirect: "cleaning", Start: nil}))
	off.Piece, off.PieceId = id.Nil, ""
	s.must(t, off)
	same(t, "ran", s.ran(t), "sprayer 0s")
}

// Three people spray with the one gun, partly at once, two of them the same piece: it ran for an
// hour and a half, of which one piece had it for an hour and a quarter and the other for an hour.
func TestHandler_EquipmentRuns_SideBySide(t *testing.T) {
	s, one, two := open(t), id.New(), id.New()
	s.keep(t, "sprayer", "")
	a, b, c := stage("topcoat-1", id.Nil, ""), stage("topcoat-1", id.Nil, ""), stage("topcoat-2", id.Nil, "")
	s.must(t, event("workflow", 1, two, clockedOff(span(b, 0.5, 1.5))), event("workflow", 1, one, clockedOff(span(a, 0, 1))), event("workflow", 2, one, clockedOff(span(c, 0.5, 1.25))))
	same(t, "ran", s.ran(t), "sprayer 1h30m0s")
	same(t, "for one piece", s.ranFor(t, one), "sprayer 1h15m0s")
	same(t, "for the other", s.ranFor(t, two), "sprayer 1h0m0s")
	late := span(a, 3, 3.5)
	s.must(t, event("workflow", 3, one, clockedOff(late)), event("workflow", 4, one, corrected(late, nil)))
	same(t, "after a correction", s.ran(t), "sprayer 1h30m0s")
}

// ranFor is how long equipment ran for a piece, in words.
func (s *shop) ranFor(t *testing.T, piece id.ID) (out []string) {
	t.Helper()
	err := s.View(t.Context(), func(q pg.Querier) error {
		uses, err := store.New(q).UseOf(t.Context(), piece)
		for _, u := range uses {
			out = append(out, u.Name+" "+u.Ran().String())
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The gun was retired at eleven, while somebody sprayed with it, and another came at noon; from one
// on it costs more. Reading everything anew gives each the hours that it had, at the cost of then.
func TestKeeper_Rebuild_KeepsWhatEquipmentRan(t *testing.T) {
	s, piece, coat := open(t), id.New(), stage("topcoat-1", id.Nil, "")
	oclock := func(hours int) time.Time { return monday.Add(time.Duration(hours) * time.Hour) }
	old := s.keep(t, "gun", "")
	work := []inbox.Event{event("workflow", 1, piece, clockedOff(span(coat, 0, 1))), event("workflow", 2, piece, clockedOff(span(coat, 1.5, 2.5))),
		event("workflow", 3, piece, clockedOff(span(coat, 3, 5)))}
	s.must(t, work[0])
	old.Retired = true
	s.keepFrom(t, oclock(2), old)
	next := s.keepFrom(t, oclock(3), materials.Equipment{ID: id.New(), Name: "turbine", Kind: "sprayer", HourlyCost: 6_00, StageKinds: []string{"topcoat_coat"}})
	next.HourlyCost = 8_00
	s.keepFrom(t, oclock(4), next)
	s.must(t, work[1:]...)
	check := func(when string) {
		t.Helper()
		same(t, when, s.ran(t), "gun 1h30m0s", "turbine 2h0m0s")
		same(t, when+", cost", []string{s.cost(t, old.ID), s.cost(t, next.ID)}, "9.00", "14.00")
	}
	check("at first")
	next.StageKinds, next.Version = []string{"sand"}, next.Version+1
	s.keepFrom(t, oclock(8), next)
	check("it sands from now on")
	k, producers := &consume.Keeper{}, map[string]eventsv1.EventLogServiceClient{"workflow": &diary{epoch: "one", events: work}}
	k.Inbox = inbox.New(s.DB, "materials", producers, s.handler, time.Hour, slog.New(slog.DiscardHandler))
	if err := k.Rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
	check("read anew")
}

// cost is what the hours of equipment cost.
func (s *shop) cost(t *testing.T, equipment id.ID) string {
	t.Helper()
	var r materials.Running
	err := s.View(t.Context(), func(q pg.Querier) error {
		hours, err := store.New(q).EquipmentHours(t.Context())
		r.Hours = hours[equipment]
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	usd, err := money.CurrencyOf("USD")
	if err != nil {
		t.Fatal(err)
	}
	return usd.Format(r.Cost())
}
