package consume_test

import (
	"context"
	"testing"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// keep saves equipment that runs at topcoats, at a station or anywhere.
func (s *shop) keep(t *testing.T, name, station string) {
	t.Helper()
	err := s.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		return store.New(tx).SaveEquipment(ctx, materials.Equipment{ID: id.New(), Name: name, Kind: "sprayer", HourlyCost: 6_00, Every: 2, StageKinds: []string{"topcoat_coat"}, Station: station, Version: 1})
	})
	if err != nil {
		t.Fatal(err)
	}
}

// ran is how long equipment ran, in words.
func (s *shop) ran(t *testing.T) (out []string) {
	t.Helper()
	err := s.View(t.Context(), func(q pg.Querier) error {
		all, err := store.New(q).Equipment(t.Context(), true)
		for _, e := range all {
			out = append(out, e.Name+" "+e.Total.String())
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
