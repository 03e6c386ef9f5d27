package server_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func (o *office) payRules() costingv1.PayRuleServiceClient {
	return costingv1.NewPayRuleServiceClient(o.Conn)
}

// timeAndAHalf is a rule from a day on: over forty hours a week, rests of twenty minutes paid.
func timeAndAHalf(day *date.Date) *costingv1.SetPayRuleRequest {
	return &costingv1.SetPayRuleRequest{RequestId: svctest.NewID(), PayRule: &costingv1.PayRule{EffectiveDate: day,
		WeeklyOvertimeAfter: durationpb.New(40 * time.Hour), OvertimePercent: 150, PaidBreak: durationpb.New(20 * time.Minute)}}
}

func (o *office) setRule(t *testing.T, r *costingv1.SetPayRuleRequest) *costingv1.PayRule {
	t.Helper()
	got, err := o.payRules().SetPayRule(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return got.PayRule
}

// burdenOf is a burden of somebody, or of everybody (id.Nil).
func burdenOf(person id.ID, percent string, day *date.Date) *costingv1.SetBurdenRequest {
	r := &costingv1.SetBurdenRequest{RequestId: svctest.NewID(), Percent: percent, EffectiveDate: day}
	if person != id.Nil {
		r.Person = id.Name("people", person)
	}
	return r
}

func (o *office) setBurden(t *testing.T, r *costingv1.SetBurdenRequest) *costingv1.Burden {
	t.Helper()
	got, err := o.payRules().SetBurden(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return got.Burden
}

// balances are the accounts of labour, credits above zero.
func (o *office) balances(t *testing.T) map[string]int64 {
	t.Helper()
	shop, err := o.costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]int64{}
	for _, a := range shop.Accounts {
		if a.Account == "wages_payable" || a.Account == "burden_payable" {
			out[a.Account] = -cents(a.Balance)
		}
	}
	return out
}

// longWeek tells of four days of Nell's of twelve hours each, two on each of two pieces.
func (o *office) longWeek(pieces ...id.ID) (spans []*eventsv1.ClockSpan) {
	for n := range 4 {
		spans = append(spans, o.tell(pieces[n/2], o.span(monday.AddDate(0, 0, n), 12*time.Hour)))
	}
	return spans
}

// Of 48 hours at 20.00, 8 earn half the rate on top: 80.00, of which each piece carries its half. A rule and a
// burden that are set later count for what was worked; so says a rebuild, and the payroll what the ledger owes.
func TestServer_SetPayRule(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool, chair := o.takenIn(7, 1_000), o.takenIn(8, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.longWeek(stool, chair)
	o.clean(t)
	r := timeAndAHalf(dayOf(3, 2))
	rule := o.setRule(t, r)
	want := proto.CloneOf(r.PayRule)
	want.Actor, want.CreateTime = svctest.Actor, rule.CreateTime
	if diff := cmp.Diff(want, rule, protocmp.Transform()); diff != "" || rule.CreateTime == nil {
		t.Errorf("SetPayRule (-want +got):\n%s", diff)
	}
	o.setBurden(t, burdenOf(id.Nil, "7.65", dayOf(3, 1)))
	o.clean(t)
	for range 2 {
		for _, piece := range []id.ID{stool, chair} {
			s := o.cost(t, piece, func(*costingv1.PieceCost) bool { return true }).Sums
			if cents(s.Labour) != 480_00 || cents(s.Premium) != 40_00 || cents(s.Burden) != 39_78 {
				t.Errorf("labour %d, premium %d, burden %d, want 480.00, 40.00 and 36.72 and 3.06", cents(s.Labour), cents(s.Premium), cents(s.Burden))
			}
		}
		line := o.nells(48*time.Hour, 0, 0, 0, 960_00)
		line.Overtime, line.Premium, line.Pay, line.Burden = durationpb.New(8*time.Hour), usd(80_00), usd(1040_00), usd(79_56)
		says(t, o.week(t, dayOf(3, 2)), line)
		if diff := cmp.Diff(map[string]int64{"wages_payable": 1040_00, "burden_payable": 79_56}, o.balances(t)); diff != "" {
			t.Errorf("the ledger owes (-want +got):\n%s", diff)
		}
		if _, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
			t.Fatal(err)
		}
	}
	o.clean(t)
}

// A week that is locked keeps its premium; what a correction takes of it is late.
func TestServer_SetPayRule_CorrectedLate(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.setRule(t, timeAndAHalf(dayOf(3, 2)))
	spans := o.longWeek(stool, stool)
	o.clean(t)
	locked := o.lock(t, dayOf(3, 2))
	if l := locked.Lines[0]; cents(l.Premium) != 80_00 || cents(l.Pay) != 1040_00 || l.RegularRateFraction != "2000" {
		t.Errorf("locked with %v", l)
	}
	o.corrected(stool, spans[3], 8*time.Hour) // 44 hours in all
	o.clean(t)
	if diff := cmp.Diff(locked, o.week(t, dayOf(3, 2)), protocmp.Transform()); diff != "" {
		t.Errorf("locked week (-then +now):\n%s", diff)
	}
	late := o.nells(0, 0, 0, -4*time.Hour, -120_00)
	late.LatePay = usd(-120_00) // four hours, and half of them again
	says(t, o.week(t, dayOf(3, 9)), late)
	if got := o.balances(t)["wages_payable"]; got != 920_00 {
		t.Errorf("the ledger owes %d, want 44 hours and the premium of four", got)
	}
	o.clean(t)
}

// A pause is paid if it is short: as the event says it, and as the span says it of what was corrected.
func TestServer_SetPayRule_PaidBreak(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.setRule(t, timeAndAHalf(dayOf(3, 2)))
	first := o.span(monday, 2*time.Hour)
	o.from["workflow"].add(stool, stool, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: first, Paused: true}}})
	o.tell(stool, o.span(monday.Add(2*time.Hour+15*time.Minute), time.Hour))
	o.clean(t)
	rests := func(breaks time.Duration, pay int64) {
		t.Helper()
		l := o.week(t, dayOf(3, 2)).Lines[0]
		if l.PaidBreakTime.AsDuration() != breaks || cents(l.PaidBreakPay) != pay {
			t.Errorf("breaks of %v for %d, want %v for %d", l.PaidBreakTime.AsDuration(), cents(l.PaidBreakPay), breaks, pay)
		}
	}
	rests(15*time.Minute, 5_00)
	second := proto.CloneOf(first)
	second.Paused = true
	second = o.corrected(stool, second, 2*time.Hour-3*time.Minute)
	o.clean(t)
	rests(18*time.Minute, 6_00)
	third := o.corrected(stool, second, 2*time.Hour-9*time.Minute) // a rest of 24 minutes
	o.clean(t)
	rests(0, 0)
	silent := proto.CloneOf(third)
	silent.Paused = false
	o.corrected(stool, silent, 2*time.Hour) // as it was told before spans said it
	o.clean(t)
	rests(0, 0)
}

// Whoever watches a piece sees what a week's end at another piece puts on it.
func TestServer_Watch_PremiumOfTheWeek(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool, chair := o.takenIn(7, 1_000), o.takenIn(8, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.setRule(t, timeAndAHalf(dayOf(3, 2)))
	o.tell(stool, o.span(monday, 30*time.Hour))
	o.cost(t, stool, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Labour) == 600_00 })
	stream := o.watch(t, stool, soon)
	if _, err := stream.Recv(); err != nil {
		t.Fatal(err)
	}
	o.tell(chair, o.span(monday.AddDate(0, 0, 3), 15*time.Hour)) // 45 hours, a premium of 50.00
	r, err := stream.Recv()
	if err != nil || cents(r.PieceCost.Sums.Premium) != 33_33 {
		t.Errorf("seen: %v, %v, want a premium of 33.33", r, err)
	}
}

// While a rule counts by them, entries that cannot all be right keep a week from being locked.
func TestServer_LockPayrollWeek_EntriesOverlap(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.tell(stool, o.span(monday, 3*time.Hour))
	twice := o.tell(stool, o.span(monday.Add(time.Hour), time.Hour))
	o.setRule(t, timeAndAHalf(dayOf(3, 2)))
	o.clean(t)
	if f := svctest.Refused(t, o.Service, o.payroll.LockPayrollWeek, lockOf(dayOf(3, 2)), fault.Precondition, "ENTRIES_OVERLAP"); f.Meta["people"] == "" {
		t.Errorf("ENTRIES_OVERLAP names %v, want Nell", f.Meta)
	}
	if notes := o.week(t, dayOf(3, 2)).Lines[0].Notes; len(notes) != 1 {
		t.Errorf("notes = %q", notes)
	}
	o.from["workflow"].add(stool, stool, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntryCorrected{ClockEntryCorrected: &eventsv1.ClockEntryCorrected{Before: twice, Reason: "twice"}}})
	o.clean(t)
	o.lock(t, dayOf(3, 2))
}

func TestServer_SetPayRule_Refuses(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.tell(stool, o.span(monday, time.Hour))
	o.clean(t)
	refused := func(kind fault.Kind, reason string, change func(*costingv1.SetPayRuleRequest)) *fault.Fault {
		t.Helper()
		r := timeAndAHalf(dayOf(3, 9))
		change(r)
		return svctest.Refused(t, o.Service, o.payRules().SetPayRule, r, kind, reason)
	}
	day := func(d *date.Date) func(*costingv1.SetPayRuleRequest) {
		return func(r *costingv1.SetPayRuleRequest) { r.PayRule.EffectiveDate = d }
	}
	refused(fault.Invalid, "RULE_NOT_MONDAY", day(dayOf(3, 10)))
	refused(fault.Invalid, "DATE_MALFORMED", day(dayOf(2, 30)))
	refused(fault.Invalid, "DATE_ABSURD", day(&date.Date{Year: 1999, Month: 12, Day: 27}))
	refused(fault.Invalid, "DATE_ABSURD", day(&date.Date{Year: 2029, Month: 1, Day: 1}))
	refused(fault.Invalid, "INVALID_FIELD", func(r *costingv1.SetPayRuleRequest) { r.PayRule = nil })
	refused(fault.Invalid, "OVERTIME_HOURS_ABSURD", func(r *costingv1.SetPayRuleRequest) { r.PayRule.WeeklyOvertimeAfter = durationpb.New(169 * time.Hour) })
	refused(fault.Invalid, "OVERTIME_HOURS_ABSURD", func(r *costingv1.SetPayRuleRequest) { r.PayRule.DailyOvertimeAfter = durationpb.New(-time.Hour) })
	refused(fault.Invalid, "OVERTIME_PERCENT_ABSURD", func(r *costingv1.SetPayRuleRequest) { r.PayRule.OvertimePercent = 50 })
	refused(fault.Invalid, "PAID_BREAK_ABSURD", func(r *costingv1.SetPayRuleRequest) { r.PayRule.PaidBreak = durationpb.New(2 * time.Hour) })
	refused(fault.Invalid, "ROUNDING_UNKNOWN", func(r *costingv1.SetPayRuleRequest) { r.PayRule.RoundTo = durationpb.New(10 * time.Minute) })
	o.setRule(t, timeAndAHalf(dayOf(3, 9)))
	f := refused(fault.Exists, "RULE_OVERLAPS", func(*costingv1.SetPayRuleRequest) {})
	if namesTheFlag(t, f); f.Meta["effective_date"] != "2026-03-09" {
		t.Errorf("RULE_OVERLAPS names %v", f.Meta)
	}
	o.lock(t, dayOf(3, 2))
	other := timeAndAHalf(dayOf(3, 9))
	other.Replaces, other.PayRule.OvertimePercent = true, 200
	o.setRule(t, other)
	list, err := o.payRules().ListPayRules(t.Context(), &costingv1.ListPayRulesRequest{PageSize: 1})
	if err != nil || len(list.PayRules) != 1 || list.PayRules[0].OvertimePercent != 150 {
		t.Fatalf("first page = %v, %v", list, err)
	}
	list, err = o.payRules().ListPayRules(t.Context(), &costingv1.ListPayRulesRequest{PageToken: list.NextPageToken})
	if err != nil || len(list.PayRules) != 1 || list.PayRules[0].OvertimePercent != 200 {
		t.Errorf("second page = %v, %v", list, err)
	}
}

// Somebody's own burden counts for them from its day on, everybody's until then; both for what was worked.
func TestServer_SetBurden(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.tell(stool, o.span(monday, 10*time.Hour))
	o.tell(stool, o.span(monday.AddDate(0, 0, 1), 10*time.Hour))
	o.clean(t)
	shop := o.setBurden(t, burdenOf(id.Nil, "10", dayOf(3, 1)))
	own := o.setBurden(t, burdenOf(o.nell, "12.3456", dayOf(3, 3)))
	if shop.Person != "" || shop.Percent != "10" || own.Person != id.Name("people", o.nell) || own.Percent != "12.3456" || own.Actor != svctest.Actor {
		t.Errorf("burdens = %v, %v", shop, own)
	}
	o.clean(t)
	if got := o.cost(t, stool, func(*costingv1.PieceCost) bool { return true }); cents(got.Sums.Burden) != 20_00+24_69 {
		t.Errorf("burden = %d, want 20.00 and 24.69", cents(got.Sums.Burden))
	}
	if l := o.week(t, dayOf(3, 2)).Lines[0]; cents(l.Burden) != 44_69 || cents(l.Pay) != 400_00 {
		t.Errorf("line = %v", l)
	}
	again := burdenOf(o.nell, "0", dayOf(3, 3))
	again.Replaces = true
	o.setBurden(t, again)
	o.clean(t)
	if got := o.balances(t)["burden_payable"]; got != 20_00 {
		t.Errorf("with none of her own the ledger owes %d, want 20.00", got)
	}
	list, err := o.payRules().ListBurdens(t.Context(), &costingv1.ListBurdensRequest{Person: id.Name("people", o.nell), PageSize: 1})
	if err != nil || len(list.Burdens) != 1 || list.Burdens[0].Percent != "12.3456" || list.NextPageToken == "" {
		t.Fatalf("first page of hers = %v, %v", list, err)
	}
	all, err := o.payRules().ListBurdens(t.Context(), &costingv1.ListBurdensRequest{})
	if err != nil || len(all.Burdens) != 3 {
		t.Errorf("burdens = %v, %v", all, err)
	}
}

func TestServer_SetBurden_Refuses(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.settle(t)
	refused := func(r *costingv1.SetBurdenRequest, kind fault.Kind, reason string) *fault.Fault {
		t.Helper()
		return svctest.Refused(t, o.Service, o.payRules().SetBurden, r, kind, reason)
	}
	refused(burdenOf(id.New(), "10", dayOf(3, 1)), fault.NotFound, "PERSON_NOT_FOUND")
	refused(burdenOf(o.nell, "10", dayOf(2, 30)), fault.Invalid, "DATE_MALFORMED")
	refused(burdenOf(o.nell, "10", &date.Date{Year: 1999, Month: 12, Day: 31}), fault.Invalid, "DATE_ABSURD")
	for _, percent := range []string{"", "ten", "7,65", "7.65123", "1e1", "1e999999999"} {
		refused(burdenOf(o.nell, percent, dayOf(3, 1)), fault.Invalid, "PERCENT_MALFORMED")
	}
	for _, percent := range []string{"-1", "200.0001"} {
		refused(burdenOf(o.nell, percent, dayOf(3, 1)), fault.Invalid, "PERCENT_ABSURD")
	}
	o.setBurden(t, burdenOf(id.Nil, "10", dayOf(3, 1)))
	o.setBurden(t, burdenOf(o.nell, "7.5", dayOf(3, 1)))
	f := refused(burdenOf(o.nell, "8", dayOf(3, 1)), fault.Exists, "BURDEN_OVERLAPS")
	if namesTheFlag(t, f); f.Meta["percent"] != "7.5" {
		t.Errorf("BURDEN_OVERLAPS names %v", f.Meta)
	}
	if f := refused(burdenOf(id.Nil, "8", dayOf(3, 1)), fault.Exists, "BURDEN_OVERLAPS"); f.Meta["percent"] != "10" {
		t.Errorf("BURDEN_OVERLAPS names %v", f.Meta)
	}
}

// A second rate from one day on has to say that it replaces the first.
func TestServer_SetPayRate_Overlaps(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.settle(t)
	o.setRate(t, 2_000, dayOf(3, 1))
	f := svctest.Refused(t, o.Service, o.rates.SetPayRate, rateOf(o.nell, 2_100, dayOf(3, 1)), fault.Exists, "RATE_OVERLAPS")
	if namesTheFlag(t, f); f.Meta["per_hour"] != "20.00" || f.Meta["effective_date"] != "2026-03-01" {
		t.Errorf("RATE_OVERLAPS names %v", f.Meta)
	}
	o.setRate(t, 2_100, dayOf(3, 2))
	r := rateOf(o.nell, 2_200, dayOf(3, 1))
	r.Replaces = true
	if _, err := o.rates.SetPayRate(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
	if f = svctest.Refused(t, o.Service, o.rates.SetPayRate, rateOf(o.nell, 2_300, dayOf(3, 1)), fault.Exists, "RATE_OVERLAPS"); f.Meta["per_hour"] != "22.00" {
		t.Errorf("RATE_OVERLAPS names %v, want the rate that replaced the first", f.Meta)
	}
}
