package consume_test

import (
	"context"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// oils makes the varnish one that dries by taking up oxygen.
func (s *shop) oils(t *testing.T) {
	t.Helper()
	s.write(t, `UPDATE product SET sheet_family = 'alkyd or oil varnish', sheet_carrier = 'oil', sheet_method = 'wipe', sheet_recoat_minutes = 720, sheet_cure_minutes = 10080
		WHERE id = $1`, s.varnish)
}

// oily reads the work of open oily waste in words, by day.
func (s *shop) oily(t *testing.T) (out []string) {
	t.Helper()
	err := s.View(t.Context(), func(q pg.Querier) error {
		days, err := store.New(q).OpenOilyWork(t.Context())
		for _, d := range days {
			for _, w := range d.Work {
				out = append(out, d.Day.Format("2 Jan")+" "+w.StageKind+" "+w.Person+" "+w.At.Format("15:04"))
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func (s *shop) putAway(t *testing.T, at time.Time) {
	t.Helper()
	s.write(t, `INSERT INTO oily_waste_check (id, confirmed_at, way, note, actor, recorded_at) VALUES ($1, $2, 'metal can with water', '', 'Nell', $2)`, id.New(), at)
}

// span is Rosa's clock at a stage, from hours after nine to hours after nine.
func span(st *eventsv1.StagesPlanned_Stage, from, to float64) *eventsv1.ClockSpan {
	at := func(hours float64) *timestamppb.Timestamp {
		return timestamppb.New(monday.Add(time.Duration(hours * float64(time.Hour))))
	}
	c := &eventsv1.ClockSpan{EntryId: id.New().String(), PersonId: id.New().String(), PersonName: "Rosa", StageId: st.StageId, StageKind: st.Kind, Pass: 1, Start: at(from)}
	if to > 0 {
		c.End = at(to)
	}
	return c
}

func clockedOn(c *eventsv1.ClockSpan) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOn{ClockedOn: &eventsv1.ClockedOn{Span: c}}}
}

func clockedOff(c *eventsv1.ClockSpan) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: c}}}
}

func corrected(before, after *eventsv1.ClockSpan) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntryCorrected{ClockEntryCorrected: &eventsv1.ClockEntryCorrected{Before: before, After: after, Reason: "forgot"}}}
}

// Rosa oils a top from ten to half past eleven: its rags are there from ten, once, until somebody
// put them away after she was done.
func TestHandler_OilyWork(t *testing.T) {
	s, piece := open(t), id.New()
	s.oils(t)
	oil := stage("oil-1", s.varnish, "0.1")
	s.must(t, event("workflow", 1, piece, approved(oil)), event("workflow", 2, piece, clockedOn(span(oil, 1, 0))))
	same(t, "while she works", s.oily(t), "2 Mar topcoat_coat Rosa 10:00")
	s.putAway(t, monday.Add(2*time.Hour))
	same(t, "put away at eleven", s.oily(t))
	s.must(t, event("workflow", 3, piece, clockedOff(span(oil, 1, 2.5))))
	same(t, "she went on", s.oily(t), "2 Mar topcoat_coat Rosa 11:30")
	s.putAway(t, monday.Add(2*time.Hour+30*time.Minute))
	same(t, "put away when she ended", s.oily(t))
}

// What only gives off water makes none, and neither does sanding; what was issued counts as what
// was planned, unless it was taken back.
func TestHandler_OilyWork_OnlyOfWhatHeatsUp(t *testing.T) {
	s, piece := open(t), id.New()
	s.oils(t)
	sand, paint := stage("sand", id.Nil, ""), stage("paint", s.paint, "0.2")
	s.must(t, event("workflow", 1, piece, approved(sand, paint)),
		event("workflow", 2, piece, clockedOff(span(sand, 0, 1))), event("workflow", 3, piece, clockedOff(span(paint, 1, 2))))
	same(t, "sanded and painted", s.oily(t))
	s.took(t, piece, of(sand), s.varnish, "issue", "0.05")
	s.write(t, `INSERT INTO entry (id, product_id, kind, purpose, at, undone_at, quantity, of_id, piece_id, stage_id, stage_kind, pass, actor)
		SELECT gen_random_uuid(), product_id, 'undone', 'take back', at, at, quantity, id, piece_id, stage_id, stage_kind, pass, actor FROM entry`)
	s.must(t, event("workflow", 4, piece, clockedOff(span(sand, 1, 2))))
	same(t, "that was the wrong can", s.oily(t))
	s.took(t, piece, of(sand), s.varnish, "issue", "0.05")
	s.must(t, event("workflow", 5, piece, clockedOff(span(sand, 2, 3))))
	same(t, "sanded wet with oil", s.oily(t), "2 Mar topcoat_coat Rosa 12:00")
}

// mixed writes down that a litre of a product was mixed of others, and gives its lot's mix.
func (s *shop) mixed(t *testing.T, product id.ID, parts ...id.ID) (lot, mix id.ID) {
	t.Helper()
	lot, mix = id.New(), id.New()
	for _, part := range parts {
		s.write(t, `INSERT INTO entry (id, product_id, kind, purpose, at, quantity, mix_id, actor) VALUES ($1, $2, 'went out', 'mixing', $3, 0.5, $4, 'Nell')`, id.New(), part, monday, mix)
	}
	s.write(t, `INSERT INTO lot (id, product_id, received_at, quantity, quantity_left, cost, cost_left, supplier, root_id, mix_id)
		VALUES ($1, $2, $3, 1, 1, 0, 0, '', $1, $4)`, lot, product, monday, mix)
	return lot, mix
}

// drew says which lot an entry took from.
func (s *shop) drew(t *testing.T, product, lot id.ID) {
	t.Helper()
	s.write(t, `INSERT INTO movement (product_id, lot_id, entry_id, quantity, cost) SELECT $1, $2, id, -quantity, 0 FROM entry WHERE product_id = $1`, product, lot)
}

// Rosa mixed oil into a base that dries by itself, and that into a second one, which is what goes
// to the stage.
func TestHandler_OilyWork_InAMixOfAMix(t *testing.T) {
	s, piece := open(t), id.New()
	s.oils(t)
	base, tint := id.New(), id.New()
	for product, name := range map[id.ID]string{base: "base", tint: "tint"} {
		s.write(t, `INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
			VALUES ($1, $2, $2, 'L', '{}', '{}', 0, 0, 0, false, 1)`, product, name)
	}
	baseLot, _ := s.mixed(t, base, s.varnish)
	tintLot, _ := s.mixed(t, tint, base)
	s.drew(t, base, baseLot)
	coat := stage("coat", id.Nil, "")
	s.must(t, event("workflow", 1, piece, approved(coat)), event("workflow", 2, piece, clockedOff(span(coat, 0, 1))))
	same(t, "nothing was issued", s.oily(t))
	s.took(t, piece, of(coat), tint, "issue", "0.05")
	s.drew(t, tint, tintLot)
	s.must(t, event("workflow", 3, piece, clockedOff(span(coat, 1, 2))))
	same(t, "of the mix", s.oily(t), "2 Mar topcoat_coat Rosa 11:00")
}

// The plan names what is mixed by a recipe with oil: its rags are there before anything is issued.
func TestHandler_OilyWork_ByRecipe(t *testing.T) {
	s, piece, recipe := open(t), id.New(), id.New()
	s.oils(t)
	s.write(t, `INSERT INTO recipe (id, display_name, name_key, makes_id, keeps_minutes, note, version) VALUES ($1, 'Wiping paint', 'wiping paint', $2, 0, '', 1)`, recipe, s.paint)
	s.write(t, `INSERT INTO recipe_part (recipe_id, number, product_id, parts, to_each) VALUES ($1, 1, $2, 1, 0)`, recipe, s.varnish)
	coat := stage("coat", s.paint, "0.2")
	s.must(t, event("workflow", 1, piece, approved(coat)), event("workflow", 2, piece, clockedOn(span(coat, 0, 0))))
	same(t, "by recipe", s.oily(t), "2 Mar topcoat_coat Rosa 09:00")
}

// Nell says that the stage is finished which Rosa did: the work is Rosa's. Of the second pass
// nobody clocked on, and who finished it is all that is known.
func TestHandler_OilyWork_WhoDidIt(t *testing.T) {
	s, piece := open(t), id.New()
	s.oils(t)
	oil := stage("oil-1", s.varnish, "0.1")
	by := func(version int64, pass int32) inbox.Event {
		e := event("workflow", version, piece, finished(oil, pass))
		e.Actor = "Nell"
		return e
	}
	s.must(t, event("workflow", 1, piece, approved(oil)), event("workflow", 2, piece, clockedOff(span(oil, 1, 2))), by(3, 1))
	same(t, "Nell finished it", s.oily(t), "2 Mar topcoat_coat Rosa 11:00")
	s.must(t, event("workflow", 4, piece, sentBack(oil, 2)), by(5, 2))
	same(t, "Nell did it anew", s.oily(t), "2 Mar topcoat_coat Rosa 11:00", "2 Mar topcoat_coat Nell 14:00")
}

// Who watches the alerts is told of work at once, not when they are looked at next.
func TestHandler_OilyWork_TellsAtOnce(t *testing.T) {
	s, piece := open(t), id.New()
	told := 0
	s.handler.Changed = func([]id.ID) { told++ }
	sand := stage("sand", id.Nil, "")
	s.must(t, event("workflow", 1, piece, approved(sand)))
	before := told
	s.must(t, event("workflow", 2, piece, clockedOff(span(sand, 0, 1))))
	if told != before+1 {
		t.Errorf("told %d times of the work, want once", told-before)
	}
}

// A rebuild forgets what events told and reads it anew; what was issued is known from nobody else.
func TestStore_ForgetWork_KeepsEntries(t *testing.T) {
	s := open(t)
	for _, by := range []materials.KnownBy{materials.ByClock, materials.ByFinish, materials.ByEntry} {
		err := s.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			return store.New(tx).NoteOilyWork(ctx, materials.OilyWork{Day: materials.DayOf(monday, time.UTC), Stage: id.New(), StageKind: string(by), Person: "Rosa", At: monday, KnownBy: by})
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := s.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error { return store.New(tx).ForgetWork(ctx) }); err != nil {
		t.Fatal(err)
	}
	same(t, "after it", s.oily(t), "2 Mar entry Rosa 09:00")
}

// The rags of wiping off hold the stain that another stage put on.
func TestHandler_OilyWork_WipedOff(t *testing.T) {
	s, piece := open(t), id.New()
	s.oils(t)
	stain, wipe, inspect := stage("stain", s.varnish, "0.1"), stage("wipe-off", id.Nil, ""), stage("look", id.Nil, "")
	wipe.Kind, inspect.Kind = "wipe_off", "inspect"
	s.must(t, event("workflow", 1, piece, approved(stain, wipe, inspect)),
		event("workflow", 2, piece, clockedOff(span(wipe, 0, 1))), event("workflow", 3, piece, clockedOff(span(inspect, 1, 2))))
	same(t, "wiped and looked at", s.oily(t), "2 Mar wipe_off Rosa 10:00")
}

// A day is the shop's: five in the afternoon in Denver is the next day in UTC. Nobody clocked on:
// that the stage was finished says it, and who said so.
func TestHandler_OilyWork_ShopsDay(t *testing.T) {
	s, piece := open(t), id.New()
	s.oils(t)
	zone, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	s.handler.Zone = zone
	oil := stage("oil-1", s.varnish, "0.1")
	done := event("workflow", 2, piece, finished(oil, 1))
	done.Actor, done.OccurredAt = "Nell", timestamppb.New(time.Date(2026, 3, 3, 0, 30, 0, 0, time.UTC))
	s.must(t, event("workflow", 1, piece, approved(oil)), done)
	same(t, "finished at half past five", s.oily(t), "2 Mar topcoat_coat Nell 00:30")
}

// A clock that ran past its shift tells when that ended, from when on the rags are due.
func TestHandler_OilyWork_ShiftEnd(t *testing.T) {
	s, piece := open(t), id.New()
	s.oils(t)
	oil := stage("oil-1", s.varnish, "0.1")
	on := span(oil, 1, 0)
	end := monday.Add(7*time.Hour + 30*time.Minute)
	s.must(t, event("workflow", 1, piece, approved(oil)), event("workflow", 2, piece, clockedOn(on)),
		event("workflow", 3, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockForgotten{ClockForgotten: &eventsv1.ClockForgotten{Span: on, ShiftEnd: timestamppb.New(end)}}}))
	err := s.View(t.Context(), func(q pg.Querier) error {
		d, err := store.New(q).OilyWork(t.Context(), materials.DayOf(monday, time.UTC))
		if got := d.Due(time.UTC); !got.Equal(end) || !d.Open() {
			t.Errorf("due %v, want %v and open", got, end)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
