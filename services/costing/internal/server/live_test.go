package server_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// life is some weeks of a shop: Nell works, entries are corrected, pieces are sold and come back, while the owner
// says what is paid and closes weeks and months. Whoever records has a clock that is minutes off.
type life struct {
	*office
	rnd    *rand.Rand
	at     time.Time // up to which Nell has worked
	week1  time.Time // the first that is not locked
	month1 int32     // the first that is not closed
	pieces []id.ID
	stages []id.ID // one of each piece
	done   []stint
	sold   map[id.ID]bool
}

// stint is an entry as it was told last.
type stint struct {
	piece id.ID
	span  *eventsv1.ClockSpan
}

func live(t *testing.T, seed uint64) *life {
	l := &life{office: paying(t), rnd: rand.New(rand.NewPCG(seed, 11)), at: time.Date(2026, 2, 28, 14, 0, 0, 0, time.UTC), week1: time.Date(2026, 2, 23, 0, 0, 0, 0, time.UTC), month1: 2, sold: map[id.ID]bool{}}
	l.setRate(t, 1_800, dayOf(1, 1))
	for n := range int32(3) {
		l.pieces, l.stages = append(l.pieces, l.takenIn(n+1, 1_000)), append(l.stages, id.New())
	}
	return l
}

// off is an instant of somebody's clock now, up to five minutes off.
func (l *life) off() *timestamppb.Timestamp {
	return timestamppb.New(april.Add(time.Duration(l.rnd.IntN(600)-300) * time.Second))
}

func (l *life) says(from string, piece id.ID, e *eventsv1.Envelope) {
	if e.RecordedAt = l.off(); e.OccurredAt == nil {
		e.OccurredAt = l.off()
	}
	l.from[from].add(piece, piece, e)
}

func (l *life) work() {
	l.workFrom(l.at.Add(time.Duration(l.rnd.IntN(900))*time.Minute), time.Duration(1+l.rnd.IntN(700))*time.Minute)
}

func (l *life) workFrom(start time.Time, length time.Duration) {
	n, s := l.rnd.IntN(3), l.span(start, length)
	l.at, s.StageId, s.Paused = s.End.AsTime(), l.stages[n].String(), l.rnd.IntN(2) == 0
	l.says("workflow", l.pieces[n], &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: s}}})
	l.done = append(l.done, stint{l.pieces[n], s})
}

// night is worked over the end of the week, and raised from its Monday on: that changes nothing of the week before.
func (l *life) night(t *testing.T) {
	y, m, d := l.at.AddDate(0, 0, 7-(int(l.at.Weekday())+6)%7).Date()
	if d > 23 || m != time.March {
		return
	}
	l.silent(false)
	monday := time.Date(y, m, d, 4, 0, 0, 0, time.UTC) // midnight in the shop, or an hour before
	l.workFrom(monday.Add(-time.Duration(1+l.rnd.IntN(180))*time.Minute), time.Duration(300+l.rnd.IntN(300))*time.Minute)
	l.clean(t)
	sunday := monday.AddDate(0, 0, -1)
	before := l.week(t, dayOf(int32(sunday.Month()), int32(sunday.Day())))
	raise := rateOf(l.nell, int64(1_000+l.rnd.IntN(2_000)), dayOf(3, int32(d)))
	raise.Replaces, raise.PayLate = true, true
	may(t, l.rates.SetPayRate, raise)
	if diff := cmp.Diff(before, l.week(t, dayOf(int32(sunday.Month()), int32(sunday.Day()))), protocmp.Transform()); diff != "" {
		t.Errorf("a raise from %v changes the week before (-then +now):\n%s", monday, diff)
	}
}

// correct halves what was told of an entry.
func (l *life) correct() {
	if len(l.done) == 0 {
		return
	}
	s := &l.done[l.rnd.IntN(len(l.done))]
	right := proto.CloneOf(s.span)
	right.End = timestamppb.New(s.span.Start.AsTime().Add(s.span.End.AsTime().Sub(s.span.Start.AsTime()) / 2))
	l.says("workflow", s.piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntryCorrected{ClockEntryCorrected: &eventsv1.ClockEntryCorrected{Before: s.span, After: right}}})
	s.span = right
}

// trade sells a piece, or has it come back.
func (l *life) trade() {
	piece := l.pieces[l.rnd.IntN(3)]
	e := &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: &eventsv1.PieceSold{Price: usd(9_000)}}}
	if l.sold[piece] {
		e = &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{Price: usd(9_000), PieceReturned: true}}}
	}
	e.OccurredAt = timestamppb.New(l.at.Add(-time.Duration(l.rnd.IntN(9_000)) * time.Minute))
	l.says("sales", piece, e)
	l.sold[piece] = !l.sold[piece]
}

// may does what may be refused, for what was closed before, and reports whether it was done.
func may[R, A proto.Message](t *testing.T, command func(context.Context, R, ...grpc.CallOption) (A, error), r R) bool {
	t.Helper()
	_, err := command(svctest.Ctx(t), r)
	if err != nil && fault.Of(err).Kind != fault.Precondition {
		t.Fatal(err)
	}
	return err == nil
}

// term says what is paid, or what pieces carry, from some day of March on.
func (l *life) term(t *testing.T) {
	day, amount, late := dayOf(3, int32(1+l.rnd.IntN(10))), int64(1_000+l.rnd.IntN(2_000)), l.rnd.IntN(2) == 0
	switch l.rnd.IntN(4) {
	case 0:
		r := rateOf(l.nell, amount, day)
		r.Replaces, r.PayLate = true, late
		may(t, l.rates.SetPayRate, r)
	case 1:
		r := burdenOf([]id.ID{id.Nil, l.nell}[l.rnd.IntN(2)], fmt.Sprint(amount%20), day)
		if r.Replaces, r.PayLate = true, late; r.Person != "" && l.rnd.IntN(2) == 0 {
			r.Percent, r.Ends = "", true
		}
		may(t, l.payRules().SetBurden, r)
	case 2:
		r := overheadOf("", labourHour, amount, day)
		if l.rnd.IntN(2) == 0 {
			r = overheadOf("sanding", machineHour, amount, day, "sand")
		}
		r.Replaces = true
		may(t, l.overheads().SetOverheadRate, r)
	case 3:
		r := timeAndAHalf(dayOf(3, int32(2+7*l.rnd.IntN(3))))
		r.Replaces, r.PayLate, r.PayRule.PremiumToOverhead = true, late, l.rnd.IntN(3) == 0
		r.PayRule.WeeklyOvertimeAfter, r.PayRule.RoundTo = durationpb.New(time.Duration(5+l.rnd.IntN(30))*time.Hour), durationpb.New(15*time.Minute)
		may(t, l.payRules().SetPayRule, r)
	}
}

// silent has all who tell the books fall silent, or speak again.
func (l *life) silent(is bool) {
	for _, p := range l.from {
		p.mu.Lock()
		p.silent = is
		p.mu.Unlock()
	}
}

// close closes the next week or month.
func (l *life) close(t *testing.T) {
	l.silent(false)
	l.clean(t)
	if l.rnd.IntN(3) > 0 {
		if may(t, l.payroll.LockPayrollWeek, lockOf(dayOf(int32(l.week1.Month()), int32(l.week1.Day())))) {
			l.week1 = l.week1.AddDate(0, 0, 7)
		}
		return
	}
	r := closeOf(l.month1, []costingv1.Month_Settlement{toSold, prorated}[l.rnd.IntN(2)])
	r.WithIndirectLabour = l.rnd.IntN(2) == 0
	if may(t, l.months().CloseMonth, r) {
		l.month1++
	}
}

// paid is what all weeks of the payroll come to, with what is late in the first that is open.
func (l *life) paid(t *testing.T) (pay, burden int64) {
	for day := time.Date(2026, 2, 23, 0, 0, 0, 0, time.UTC); !day.After(l.at) || !day.After(l.week1); day = day.AddDate(0, 0, 7) {
		for _, line := range l.week(t, dayOf(int32(day.Month()), int32(day.Day()))).Lines {
			pay, burden = pay+cents(line.Pay), burden+cents(line.Burden)
		}
	}
	return pay, burden
}

// Whatever is said in whatever order, the books are those of a rebuild, and the payroll pays what they owe.
func TestServer_Live(t *testing.T) {
	t.Parallel()
	for _, seed := range []uint64{8, 10} {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			l := live(t, seed)
			for range 50 {
				switch n := l.rnd.IntN(13); {
				case n < 4:
					l.work()
				case n < 5:
					l.correct()
				case n < 6:
					l.trade()
				case n < 9:
					l.term(t)
				case n < 10:
					l.silent(l.rnd.IntN(2) == 0)
				case n < 11:
					l.night(t)
				default:
					l.close(t)
				}
			}
			l.silent(false)
			for range 2 {
				l.clean(t)
				pay, burden := l.paid(t)
				if owed := l.balances(t); owed["wages_payable"] != pay || owed["burden_payable"] != burden {
					t.Errorf("the payroll pays %d and %d, the ledger owes %v", pay, burden, owed)
				}
				l.rebuild(t)
			}
		})
	}
}
