package costing_test

import (
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// payRule is a rule from a Monday of 2026 on.
func payRule(month time.Month, day int, r labour.Rule) costing.PayRule {
	return costing.PayRule{ID: id.New(), Monday: time.Date(2026, month, day, 0, 0, 0, 0, time.UTC), Rule: r, RecordedAt: monday}
}

var timeAndAHalf = labour.Rule{WeeklyAfter: 40 * time.Hour, Percent: 150}

// keeper keeps books of labour as the service does: what workweeks come to is settled with each book.
type keeper struct {
	t       interface{ Fatalf(string, ...any) }
	labour  []costing.Stretch
	posted  map[costing.Group][]costing.Dated
	ledger  []costing.Dated
	names   map[id.ID]bool
	settled int // transactions of workweeks
}

func keepBooks(t interface{ Fatalf(string, ...any) }) *keeper {
	return &keeper{t: t, posted: map[costing.Group][]costing.Dated{}, names: map[id.ID]bool{}}
}

// in makes a book in New York.
func (k *keeper) book() *costing.Book { return costing.NewBook(costing.Standard().In(newYork)) }

// work books stretches, all at once.
func (k *keeper) work(t *costing.Terms, stretches ...costing.Stretch) {
	b := k.book()
	for _, s := range stretches {
		b.Work(s, t)
	}
	k.keep(b)
}

// rule books that the shop pays by another rule.
func (k *keeper) rule(t *costing.Terms, r costing.PayRule) {
	b := k.book()
	for _, s := range k.labour {
		b.Reopen(s, t, costing.Cause{ID: r.ID, Event: r.ID, RecordedAt: r.RecordedAt})
	}
	k.keep(b)
}

// term books that a pay rate or burden is set.
func (k *keeper) term(t *costing.Terms, term id.ID, recorded time.Time) {
	b := k.book()
	for _, s := range k.labour {
		n := slices.IndexFunc(t.Of(s.Person), func(is costing.Term) bool { return is.ID == term })
		if n < 0 || !s.End.After(t.Of(s.Person)[n].From()) {
			continue
		}
		b.Reprice(s, t, n)
		b.Reopen(s, t, costing.Cause{ID: term, Event: term, RecordedAt: recorded})
	}
	k.keep(b)
}

func (k *keeper) keep(b *costing.Book) {
	var before []costing.Stretch // what is asked for, and no more
	for _, s := range k.labour {
		if slices.ContainsFunc(b.Needs(), func(w costing.Window) bool {
			return w.Person == s.Person && s.End.After(w.From) && s.Start.Before(w.To)
		}) {
			before = append(before, s)
		}
	}
	want, causes := b.SettleWeeks(before)
	for _, p := range b.Weeks() {
		g := p.Group()
		b.Settle(g, causes[g.ID], k.posted[g], want[g.ID])
	}
	if err := b.Check(); err != nil {
		k.t.Fatalf("%v", err)
	}
	for _, tx := range b.Transactions {
		if k.names[tx.ID] {
			k.t.Fatalf("two transactions named %s", tx.ID)
		}
		k.names[tx.ID] = true
		if tx.Group.Kind == costing.PayWeek {
			k.settled++
		}
		for _, l := range tx.Lines {
			k.ledger = append(k.ledger, costing.Dated{At: tx.OccurredAt, Line: l})
			if tx.Group.Kind == costing.PayWeek {
				k.posted[tx.Group] = append(k.posted[tx.Group], costing.Dated{At: tx.OccurredAt, Line: l})
			}
		}
	}
	k.labour = append(k.labour, b.Stretches...)
}

// owes is what an account has on its credit side.
func (k *keeper) owes(a costing.Account) (sum money.Amount) {
	for _, l := range k.ledger {
		if l.Account == a {
			sum -= l.Amount
		}
	}
	return sum
}

// beside is what the workweeks put on each account and sheet line, without what cancels out.
func (k *keeper) beside() map[string]money.Amount {
	sums := map[string]money.Amount{}
	for _, lines := range k.posted {
		for _, l := range lines {
			sums[string(l.Account)+" "+string(l.Bucket)] += l.Amount
		}
	}
	maps.DeleteFunc(sums, func(_ string, sum money.Amount) bool { return sum == 0 })
	return sums
}

func (k *keeper) comesTo(t *testing.T, want map[string]money.Amount) {
	t.Helper()
	if diff := cmp.Diff(want, k.beside()); diff != "" {
		t.Errorf("beside the hours (-want +got):\n%s", diff)
	}
}

// twelve is 12.00 an hour, and what the employer pays on it.
func twelve(burdenShare int64, rules ...costing.PayRule) *costing.Terms {
	long := at(1, 1, 0, 0)
	t := costing.NewTerms([]costing.Rate{rate(12_00, long, long)}, []costing.Burden{burden(id.Nil, burdenShare, long, long)}, nil)
	t.SetPayRules(rules)
	return t
}

// fortySix is a week of Nell's of 46 hours: half on a piece, a quarter on one again, a quarter cleaning.
func fortySix() []costing.Stretch {
	a, b, c := nells(at(3, 9, 0, 0), 23*time.Hour), nells(at(3, 10, 0, 0), 11*time.Hour+30*time.Minute), nells(at(3, 11, 0, 0), 11*time.Hour+30*time.Minute)
	a.Stage, b.Stage, b.Rework = id.New(), id.New(), true
	c.Indirect, c.Piece = "cleaning", id.Nil
	return []costing.Stretch{a, b, c}
}

// 46 hours at 12.00 earn a premium of 36.00 (29 CFR 778.110(a)), which is of the pieces by their hours;
// with a burden of 10 percent.
func TestBook_Week_PremiumByHours(t *testing.T) {
	k := keepBooks(t)
	k.work(twelve(10*percent, payRule(3, 9, timeAndAHalf)), fortySix()...)
	k.comesTo(t, map[string]money.Amount{
		"wages_payable ": -36_00, "burden_payable ": -3_60,
		"work_in_process premium": 18_00, "work_in_process burden": 1_80,
		"rework rework": 9_90, "indirect_labour ": 9_90,
	})
	if got := k.owes(costing.WagesPayable); got != 588_00 {
		t.Errorf("wages are %d, want the 588.00 of the regulation", got)
	}
}

// A shop may take the premium for overhead.
func TestBook_Week_PremiumAsOverhead(t *testing.T) {
	k, r := keepBooks(t), timeAndAHalf
	r.ToOverhead = true
	k.work(twelve(10*percent, payRule(3, 9, r)), fortySix()...)
	k.comesTo(t, map[string]money.Amount{"wages_payable ": -36_00, "burden_payable ": -3_60, "overhead_actual ": 39_60})
}

// What becomes known of a week later, on another day or of another piece, changes its premium by the
// difference; what was posted stays. Neither a week before the rule nor one that nobody touched is settled.
func TestBook_Week_SettledAsItBecomesKnown(t *testing.T) {
	k, terms := keepBooks(t), twelve(0, payRule(3, 9, timeAndAHalf))
	work := fortySix()
	k.work(terms, work[0])
	k.work(terms, work[1])
	if k.settled != 0 {
		t.Errorf("%d transactions for a week of less than 40 hours", k.settled)
	}
	k.work(terms, work[2])
	k.comesTo(t, map[string]money.Amount{"wages_payable ": -36_00, "work_in_process premium": 18_00, "rework rework": 9_00, "indirect_labour ": 9_00})
	short := work[2]
	short.ID, short.Entry, short.End = id.New(), id.New(), short.Start.Add(7*time.Hour+30*time.Minute) // 42 hours in all
	k.work(terms, taken(work[2]), short)
	k.comesTo(t, map[string]money.Amount{"wages_payable ": -12_00, "work_in_process premium": 6_57, "rework rework": 3_29, "indirect_labour ": 2_14})
	before := k.settled
	k.work(terms, nells(at(3, 2, 8, 0), 60*time.Hour)) // in the week before the rule
	k.work(terms, nells(at(3, 25, 8, 0), 8*time.Hour))
	if k.settled != before {
		t.Errorf("%d transactions for weeks in which nothing is due", k.settled-before)
	}
	k.work(terms, taken(work[0]))
	k.comesTo(t, map[string]money.Amount{})
}

// Short pauses are paid and the clock is rounded: 46 and 43 hours, less what follows.
func TestBook_Week_BreaksAndRounding(t *testing.T) {
	k := keepBooks(t)
	rests := labour.Rule{PaidBreak: 20 * time.Minute, RoundTo: 15 * time.Minute}
	first, second := nells(at(3, 9, 8, 4), 116*time.Minute), nells(at(3, 9, 10, 15), time.Hour) // 8:04 to 10:00, to 11:15
	first.Paused = true
	k.work(twelve(10*percent, payRule(3, 9, rests)), first, second)
	// 15 minutes of rest are 3.00, the four that rounding adds 0.80; a tenth of 3.80 on top.
	k.comesTo(t, map[string]money.Amount{"wages_payable ": -3_80, "burden_payable ": -38, "indirect_labour ": 4_18})
}

// It is due when the week was last worked in, with the burden that held as the week began.
func TestBook_Week_WhenItIsDue(t *testing.T) {
	long := at(1, 1, 0, 0)
	terms := costing.NewTerms([]costing.Rate{rate(12_00, long, long)},
		[]costing.Burden{burden(id.Nil, 10*percent, at(3, 9, 0, 0), long), burden(id.Nil, 20*percent, at(3, 10, 0, 0), long)}, nil)
	terms.SetPayRules([]costing.PayRule{payRule(3, 9, timeAndAHalf)})
	k := keepBooks(t)
	k.work(terms, fortySix()...)
	for _, lines := range k.posted {
		for _, l := range lines {
			if want := at(3, 11, 11, 30); !l.At.Equal(want) {
				t.Errorf("%s is due at %v, want %v", l.Account, l.At, want)
			}
		}
	}
	if got := k.beside()["burden_payable "]; got != -3_60 {
		t.Errorf("burden on the premium is %d, want a tenth of it", got)
	}
}

// on is what workweeks put on an account, by when.
func (k *keeper) on(a costing.Account) map[string]money.Amount {
	sums := map[string]money.Amount{}
	for _, lines := range k.posted {
		for _, l := range lines {
			if l.Account == a {
				sums[l.At.In(newYork).Format("01-02 15:04:05.000")] += l.Amount
			}
		}
	}
	maps.DeleteFunc(sums, func(_ string, sum money.Amount) bool { return sum == 0 })
	return sums
}

// Breaks and rounding are due when they were.
func TestBook_Week_BesideAtItsInstants(t *testing.T) {
	k := keepBooks(t)
	first, second := nells(at(3, 9, 8, 4), 116*time.Minute), nells(at(3, 9, 10, 15), 58*time.Minute) // 8:04 to 10:00, to 11:13
	first.Paused = true
	k.work(twelve(10*percent, payRule(3, 9, labour.Rule{PaidBreak: 20 * time.Minute, RoundTo: 15 * time.Minute})), first, second)
	want := map[string]money.Amount{"03-09 08:04:00.000": -80, "03-09 10:15:00.000": -3_00, "03-09 11:13:00.000": -40}
	if diff := cmp.Diff(want, k.on(costing.WagesPayable)); diff != "" {
		t.Errorf("wages by instant (-want +got):\n%s", diff)
	}
	want = map[string]money.Amount{"03-09 08:04:00.000": -8, "03-09 10:15:00.000": -30, "03-09 11:13:00.000": -4}
	if diff := cmp.Diff(want, k.on(costing.BurdenPayable)); diff != "" {
		t.Errorf("burden by instant (-want +got):\n%s", diff)
	}
}

// Of a week over a month's end each month has the premium by its hours, due when it was last worked in: of 46
// hours 30 are March's, with work up to its last instant. So is one that is overhead.
func TestBook_Week_OverAMonthsEnd(t *testing.T) {
	for _, toOverhead := range []bool{false, true} {
		k, r := keepBooks(t), timeAndAHalf
		r.ToOverhead = toOverhead
		march, over, april := nells(at(3, 30, 0, 0), 20*time.Hour), nells(at(3, 31, 14, 0), 14*time.Hour), nells(at(4, 2, 6, 0), 12*time.Hour)
		k.work(twelve(10*percent, payRule(3, 9, r)), march, over, april)
		want := map[string]money.Amount{"03-31 23:59:59.999": -23_48, "04-02 18:00:00.000": -12_52} // 36.00 × 30 ÷ 46
		if diff := cmp.Diff(want, k.on(costing.WagesPayable)); diff != "" {
			t.Errorf("to overhead %v: premium by instant (-want +got):\n%s", toOverhead, diff)
		}
		want = map[string]money.Amount{"03-31 23:59:59.999": -2_35, "04-02 18:00:00.000": -1_25}
		if diff := cmp.Diff(want, k.on(costing.BurdenPayable)); diff != "" {
			t.Errorf("to overhead %v: burden by instant (-want +got):\n%s", toOverhead, diff)
		}
	}
}

// Work of less than a millisecond counts no time, and breaks no week.
func TestBook_Week_UnderAMillisecond(t *testing.T) {
	k := keepBooks(t)
	slip := nells(at(3, 9, 7, 0), 100*time.Microsecond)
	slip.Paused = true
	k.work(twelve(0, payRule(3, 9, timeAndAHalf)), append(fortySix(), slip)...)
	if got := k.owes(costing.WagesPayable); got != 588_00 {
		t.Errorf("wages are %d, want 588.00 as without the slip", got)
	}
	longer := slip
	longer.End = slip.Start.Add(1900 * time.Microsecond)
	if got := longer.Time() + taken(slip).Time(); got != time.Millisecond {
		t.Errorf("two milliseconds less a tenth are %v, want 1ms", got)
	}
}

// A night over Sunday midnight is cut there: 34 hours and 6 of it make no overtime, 8 in all do in the
// week after.
func TestBook_Week_OverMidnight(t *testing.T) {
	k := keepBooks(t)
	terms := twelve(0, payRule(3, 9, timeAndAHalf))
	k.work(terms, nells(at(3, 14, 0, 0), 34*time.Hour), nells(at(3, 15, 18, 0), 12*time.Hour), nells(at(3, 17, 0, 0), 36*time.Hour))
	k.comesTo(t, map[string]money.Amount{"wages_payable ": -12_00, "work_in_process premium": 12_00}) // 2 h × 6.00
}

// A rate that is set later, and a rule that is, count for what was worked before.
func TestBook_Week_TermsSetLater(t *testing.T) {
	long := at(1, 1, 0, 0)
	first, raise := rate(10_00, long, long), rate(12_00, long, monday.Add(time.Hour))
	rule := payRule(3, 9, timeAndAHalf)
	terms := costing.NewTerms([]costing.Rate{first}, nil, nil)
	k := keepBooks(t)
	k.work(terms, fortySix()...)
	terms = costing.NewTerms([]costing.Rate{first}, nil, nil)
	terms.SetPayRules([]costing.PayRule{rule})
	k.rule(terms, rule)
	if got := k.owes(costing.WagesPayable); got != 490_00 {
		t.Errorf("with the rule wages are %d, want 490.00", got)
	}
	terms = costing.NewTerms([]costing.Rate{first, raise}, nil, nil)
	terms.SetPayRules([]costing.PayRule{rule})
	k.term(terms, raise.ID, raise.RecordedAt)
	if got := k.owes(costing.WagesPayable); got != 588_00 {
		t.Errorf("with the rate wages are %d, want 588.00", got)
	}
}

// Of entries that contradict each other each minute counts once, for the one that began first; the payroll tells,
// and once they are put right all is as if they had never been wrong.
func TestBook_Week_Tangled(t *testing.T) {
	d := &desk{rates: twenty(), rules: []costing.PayRule{payRule(3, 9, timeAndAHalf)}}
	k := keepBooks(t)
	long, twice := nells(at(3, 9, 0, 0), 45*time.Hour), nells(at(3, 10, 0, 0), time.Hour)
	for _, s := range []costing.Stretch{long, twice} {
		d.work(s)
		k.work(d.terms(), s)
	}
	k.comesTo(t, map[string]money.Amount{"wages_payable ": -50_00, "work_in_process premium": 50_00})
	lines := d.payroll().Of(weekOf(3, 9))
	if got := costing.Tangles(lines); len(got) != 1 || lines[0].Pay != 970_00 || lines[0].Overtime != 5*time.Hour || len(lines[0].Notes()) != 1 {
		t.Errorf("a week of entries that overlap = %+v, told as %q", lines, got)
	}
	d.work(taken(twice))
	k.work(d.terms(), taken(twice))
	k.comesTo(t, map[string]money.Amount{"wages_payable ": -50_00, "work_in_process premium": 50_00})
	d.says(t, weekOf(3, 9), costing.PayLine{Labour: 45 * time.Hour, Overtime: 5 * time.Hour, Premium: 50_00, Pay: 950_00})
}

// What was taken away and never there is told of, and counts for nothing.
func TestBook_Week_TakenAwayBeforeItIsThere(t *testing.T) {
	d := &desk{rates: twenty(), rules: []costing.PayRule{payRule(3, 9, timeAndAHalf)}}
	k := keepBooks(t)
	wrong, right := nells(at(3, 9, 0, 0), 44*time.Hour), nells(at(3, 9, 0, 0), 42*time.Hour)
	d.work(taken(wrong), right)
	k.work(d.terms(), taken(wrong), right)
	k.comesTo(t, map[string]money.Amount{"wages_payable ": -20_00, "work_in_process premium": 20_00})
	if got := costing.Tangles(d.payroll().Of(weekOf(3, 9))); len(got) != 1 {
		t.Errorf("told as %q", got)
	}
	d.work(wrong)
	k.work(d.terms(), wrong)
	if got := costing.Tangles(d.payroll().Of(weekOf(3, 9))); len(got) != 0 {
		t.Errorf("put right, it is told as %q", got)
	}
	k.comesTo(t, map[string]money.Amount{"wages_payable ": -20_00, "work_in_process premium": 20_00})
}

// Of two rules from one week the one recorded later holds, and a plain one ends them.
func TestTerms_PayRule(t *testing.T) {
	first, second, plain := payRule(3, 9, timeAndAHalf), payRule(3, 9, labour.Rule{DailyAfter: 8 * time.Hour, Percent: 150}), payRule(3, 23, labour.Rule{})
	second.RecordedAt = first.RecordedAt.Add(time.Hour)
	terms := costing.NewTerms(nil, nil, nil)
	terms.SetPayRules([]costing.PayRule{plain, second, first})
	for day, want := range map[int]id.ID{2: id.Nil, 9: second.ID, 16: second.ID, 22: second.ID, 23: plain.ID, 30: plain.ID} {
		if got, _ := terms.PayRule(weekOf(3, day)); got.ID != want {
			t.Errorf("in the week of 2026-03-%02d holds %v", day, got)
		}
	}
}
