package consume_test

import (
	"context"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// begins is a Saturday, the last day of a month.
var begins = time.Date(2026, 2, 28, 7, 0, 0, 0, time.UTC)

// setTerms says what the shop pays and what pieces carry: some of it before the events, most of it in the
// middle of them. Overtime begins after few hours, so that most weeks have some.
func setTerms(t testing.TB, db *pg.DB) {
	t.Helper()
	long, tuesday, recorded := begins.AddDate(0, 0, -30), monday.Add(22*time.Hour), 0
	next := func() (id.ID, time.Time) {
		recorded++
		return id.New(), monday.Add(time.Duration(recorded-2) * time.Minute)
	}
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) (err error) {
		st := store.New(tx)
		for _, r := range []costing.Rate{{PerHour: 1_777, From: long}, {PerHour: 2_011, From: monday.Add(2 * time.Hour)}, {PerHour: 1_500, From: long}} {
			r.Person, r.Day = nell, begins
			if r.ID, r.RecordedAt = next(); err == nil {
				err = st.InsertRate(ctx, r)
			}
		}
		for _, b := range []costing.Burden{{Share: 76_500, From: long}, {Share: 120_000, Person: nell, From: begins.Add(20 * time.Hour)}, {Ends: true, Person: nell, From: tuesday}, {Share: 90_000, From: monday}} {
			b.Day = begins
			if b.ID, b.RecordedAt = next(); err == nil {
				err = st.InsertBurden(ctx, b)
			}
		}
		for _, o := range []costing.OverheadRate{{Basis: costing.LabourHour, PerHour: 1_234, From: long},
			{Department: "sanding", StageKinds: []string{"sand"}, Basis: costing.MachineHour, PerHour: 777, From: monday}, {Department: "sanding", StageKinds: []string{"sand"}, Basis: costing.LabourHour, PerHour: 999, From: tuesday}} {
			o.Day = begins
			if o.ID, o.RecordedAt = next(); err == nil {
				err = st.InsertOverheadRate(ctx, o)
			}
		}
		rule := costing.PayRule{Monday: time.Date(2026, 2, 23, 0, 0, 0, 0, time.UTC),
			Rule: labour.Rule{WeeklyAfter: 5 * time.Hour, DailyAfter: 3 * time.Hour, Percent: 150, PaidBreak: time.Hour, RoundTo: 15 * time.Minute}}
		for _, monday := range []time.Time{rule.Monday, rule.Monday.AddDate(0, 0, 14)} {
			if rule.ID, rule.RecordedAt = next(); err == nil {
				rule.Monday, err = monday, st.InsertPayRule(ctx, rule)
			}
			rule.ToOverhead = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// hand is Nell, who does one thing after the other.
type hand struct{ at time.Time }

// next is what she does next: at once, after a rest or a night; now and then it cannot be, for she had not ended
// what was before.
func (h *hand) next(t *rapid.T) *eventsv1.ClockSpan {
	pauses := []int{0, 0, 10, 30, 60, 300, 1_500, 4_000}
	if rapid.IntRange(0, 20).Draw(t, "reaches over") == 0 {
		pauses = []int{-5}
	}
	start := h.at.Add(time.Duration(rapid.SampledFrom(pauses).Draw(t, "pause")) * time.Minute)
	length := time.Duration(rapid.IntRange(1, 500).Draw(t, "minutes")) * time.Minute
	if rapid.IntRange(0, 20).Draw(t, "a slip") == 0 {
		length = 100 * time.Microsecond
	}
	s := span(1, int32(rapid.IntRange(1, 2).Draw(t, "pass")))
	s.Start, s.End, s.Paused = timestamppb.New(start), timestamppb.New(start.Add(length)), rapid.Bool().Draw(t, "paused")
	h.at = start.Add(length)
	return s
}

// draw is what she does on a piece, and what is corrected of it: taken away, shortened, or moved to what
// belongs to no piece.
func (h *hand) draw(t *rapid.T, clock, person func(*eventsv1.Envelope)) {
	var last *eventsv1.ClockSpan
	stages := []id.ID{id.New(), id.New()} // a first pass and a later one
	for range rapid.IntRange(0, 5).Draw(t, "work") {
		if last != nil && rapid.Bool().Draw(t, "correct") {
			last = h.correct(t, last, clock, person)
			continue
		}
		next := h.next(t)
		if next.StageId = id.New().String(); rapid.Bool().Draw(t, "on the same stage") {
			next.StageId = stages[next.Pass-1].String()
		}
		next = share(next, -rapid.IntRange(0, 500).Draw(t, "shared since"))
		clock(running(next))
		if rapid.Bool().Draw(t, "still running") {
			continue
		}
		off := clockedOff(next)
		if next.Paused && rapid.Bool().Draw(t, "the event alone says that she paused") {
			off.GetClockedOff().Paused, next.Paused = true, false
		}
		clock(off)
		last = next
	}
}

func (h *hand) correct(t *rapid.T, wrong *eventsv1.ClockSpan, clock, person func(*eventsv1.Envelope)) *eventsv1.ClockSpan {
	right := proto.CloneOf(wrong)
	start, length := wrong.Start.AsTime(), wrong.End.AsTime().Sub(wrong.Start.AsTime())
	right.End = timestamppb.New(start.Add(max(length/2, time.Millisecond)))
	switch rapid.SampledFrom([]string{"shorten", "move", "take away"}).Draw(t, "correct to") {
	case "shorten":
		clock(corrected(wrong, right))
		return right
	case "move":
		clock(corrected(wrong, nil))
		person(corrected(nil, indirect(right)))
	default:
		clock(corrected(wrong, nil))
	}
	return nil
}
