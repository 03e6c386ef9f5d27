package server_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// lateOf refuses a command that counts late, and gives what it says that it changes.
func lateOf[R, A proto.Message](t *testing.T, o *office, command func(context.Context, R, ...grpc.CallOption) (A, error), r R) map[string]string {
	t.Helper()
	return svctest.Refused(t, o.Service, command, r, fault.Precondition, "COUNTS_LATE").Meta
}

// A rule that was forgotten when the week was locked is paid late where the request says so: the week stays as
// it was paid, and the premium of 80.00 comes with the first week that is open.
func TestServer_SetPayRule_PaidLate(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.longWeek(stool, stool)
	o.clean(t)
	locked := o.lock(t, dayOf(3, 2))
	r := timeAndAHalf(dayOf(3, 2))
	want := map[string]string{"weeks": "2026-03-02", "months": "", "pay": "80.00", "burden": "0.00"}
	if diff := cmp.Diff(want, lateOf(t, o, o.payRules().SetPayRule, r)); diff != "" {
		t.Errorf("COUNTS_LATE names (-want +got):\n%s", diff)
	}
	r.PayLate = true
	o.setRule(t, r)
	for range 2 {
		if diff := cmp.Diff(locked, o.week(t, dayOf(3, 2)), protocmp.Transform()); diff != "" {
			t.Errorf("locked week (-then +now):\n%s", diff)
		}
		late := o.nells(0, 0, 0, 0, 80_00)
		late.LatePay = usd(80_00)
		says(t, o.week(t, dayOf(3, 9)), late)
		if got := o.balances(t)["wages_payable"]; got != 1040_00 {
			t.Errorf("the ledger owes %d, want 48 hours and the premium of eight", got)
		}
		o.clean(t)
		o.rebuild(t)
	}
	wrong := proto.CloneOf(r)
	wrong.RequestId, wrong.Replaces, wrong.PayLate, wrong.PayRule.OvertimePercent = svctest.NewID(), true, false, 200
	if got := lateOf(t, o, o.payRules().SetPayRule, wrong); got["pay"] != "80.00" {
		t.Errorf("COUNTS_LATE names %v, want the other half of the eight hours", got)
	}
}

// A rate or burden that begins in locked weeks and changes what was paid in them says so first; one that changes
// nothing of them does not have to.
func TestServer_SetPayRate_PaidLate(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.tell(stool, o.span(monday, 10*time.Hour))
	o.tell(stool, o.span(monday.AddDate(0, 0, 7), time.Hour))
	o.clean(t)
	o.lock(t, dayOf(3, 2))
	o.setRate(t, 2_000, dayOf(3, 2)) // as it was
	o.setRate(t, 2_100, dayOf(3, 9)) // for what is open
	raise := rateOf(o.nell, 2_200, dayOf(3, 2))
	raise.Replaces = true
	want := map[string]string{"weeks": "2026-03-02", "months": "", "pay": "20.00", "burden": "0.00"}
	if diff := cmp.Diff(want, lateOf(t, o, o.rates.SetPayRate, raise)); diff != "" {
		t.Errorf("COUNTS_LATE names (-want +got):\n%s", diff)
	}
	raise.PayLate = true
	if _, err := o.rates.SetPayRate(svctest.Ctx(t), raise); err != nil {
		t.Fatal(err)
	}
	tenth := burdenOf(id.Nil, "10", dayOf(3, 1))
	if got := lateOf(t, o, o.payRules().SetBurden, tenth); got["burden"] != "22.00" || got["pay"] != "0.00" {
		t.Errorf("COUNTS_LATE names %v, want a tenth of 220.00", got)
	}
	tenth.PayLate = true
	o.setBurden(t, tenth)
	l := o.week(t, dayOf(3, 9)).Lines[0]
	if cents(l.LatePay) != 20_00 || cents(l.Pay) != 41_00 || cents(l.Burden) != 24_10 {
		t.Errorf("line = %v, want 20.00 late beside 21.00, and a tenth of 241.00", l)
	}
	o.clean(t)
}

// A raise from a Monday changes nothing of the week before it, of a night over its end neither: that stays as it was
// locked, nothing is late, and nobody has to say that it may be.
func TestServer_SetPayRate_FromMonday(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.setBurden(t, burdenOf(id.Nil, "10", dayOf(3, 1)))
	o.tell(stool, o.span(time.Date(2026, 3, 9, 2, 0, 0, 0, time.UTC), 4*time.Hour)) // Sunday, 22:00, to Monday, 2:00
	o.clean(t)
	locked := o.lock(t, dayOf(3, 2))
	o.setRate(t, 3_000, dayOf(3, 9))
	o.setBurden(t, burdenOf(id.Nil, "20", dayOf(3, 9)))
	for range 2 {
		if diff := cmp.Diff(locked, o.week(t, dayOf(3, 2)), protocmp.Transform()); diff != "" {
			t.Errorf("locked week (-then +now):\n%s", diff)
		}
		raised := o.nells(2*time.Hour, 0, 0, 0, 60_00)
		raised.Burden = usd(12_00)
		says(t, o.week(t, dayOf(3, 9)), raised)
		o.clean(t)
		o.rebuild(t)
	}
}

// A week in which nobody worked is not locked. What becomes known of it later is open, though a later week is
// locked; only locked weeks are named.
func TestServer_SetPayRate_OpenWeekBetween(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	for _, days := range []int{0, 7, 21} {
		o.tell(stool, o.span(monday.AddDate(0, 0, days), time.Hour))
	}
	o.clean(t)
	for _, day := range []int32{2, 9, 23} {
		o.lock(t, dayOf(3, day))
	}
	o.tell(stool, o.span(monday.AddDate(0, 0, 14), time.Hour))
	o.clean(t)
	raise := rateOf(o.nell, 2_200, dayOf(3, 2))
	want := map[string]string{"weeks": "2026-03-02 to 2026-03-09, 2026-03-23", "months": "", "pay": "6.00", "burden": "0.00"}
	if diff := cmp.Diff(want, lateOf(t, o, o.rates.SetPayRate, raise)); diff != "" {
		t.Errorf("COUNTS_LATE names (-want +got):\n%s", diff)
	}
	o.setRate(t, 2_000, dayOf(3, 23)) // as it was
	o.setRate(t, 2_200, dayOf(3, 16)) // until then: of the open week alone
	l := o.week(t, dayOf(3, 16)).Lines[0]
	if cents(l.Pay) != 22_00 || cents(l.LatePay) != 0 {
		t.Errorf("line = %v, want an hour at 22.00 and nothing late", l)
	}
	o.clean(t)
}

// What a closed month has counted is told as well, and what is paid late of it counts in the next.
func TestServer_SetBurden_OfAClosedMonth(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.tell(stool, o.span(monday, 10*time.Hour))
	o.clean(t)
	o.closeMonth(t, 3, toSold)
	tenth := burdenOf(id.Nil, "10", dayOf(3, 1))
	want := map[string]string{"weeks": "", "months": "2026-03", "pay": "0.00", "burden": "20.00"}
	if diff := cmp.Diff(want, lateOf(t, o, o.payRules().SetBurden, tenth)); diff != "" {
		t.Errorf("COUNTS_LATE names (-want +got):\n%s", diff)
	}
	o.setBurden(t, burdenOf(id.Nil, "10", dayOf(4, 1)))
	tenth.PayLate = true
	o.setBurden(t, tenth)
	o.clean(t)
}

// From the day on which somebody's own burden ends everybody's counts for them again.
func TestServer_SetBurden_Ends(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.tell(stool, o.span(monday, 10*time.Hour))
	o.tell(stool, o.span(monday.AddDate(0, 0, 1), 10*time.Hour))
	o.setBurden(t, burdenOf(id.Nil, "10", dayOf(3, 1)))
	o.setBurden(t, burdenOf(o.nell, "0", dayOf(3, 1)))
	o.clean(t)
	ends := burdenOf(o.nell, "", dayOf(3, 3))
	ends.Ends = true
	b := o.setBurden(t, ends)
	if diff := cmp.Diff(&costingv1.Burden{Person: ends.Person, EffectiveDate: ends.EffectiveDate, Ends: true, Actor: svctest.Actor, CreateTime: b.CreateTime}, b, protocmp.Transform()); diff != "" {
		t.Errorf("SetBurden (-want +got):\n%s", diff)
	}
	for range 2 {
		if got := o.balances(t)["burden_payable"]; got != 20_00 {
			t.Errorf("the ledger owes %d, want a tenth of Tuesday's pay", got)
		}
		o.clean(t)
		o.rebuild(t)
	}
	list, err := o.payRules().ListBurdens(t.Context(), &costingv1.ListBurdensRequest{Person: ends.Person})
	if err != nil || len(list.Burdens) != 2 || list.Burdens[0].Ends || !list.Burdens[1].Ends {
		t.Errorf("burdens of hers = %v, %v", list, err)
	}
	again := burdenOf(o.nell, "5", dayOf(3, 3))
	if f := svctest.Refused(t, o.Service, o.payRules().SetBurden, again, fault.Exists, "BURDEN_OVERLAPS"); f.Meta["percent"] != "" {
		t.Errorf("BURDEN_OVERLAPS names %v", f.Meta)
	}
	all := burdenOf(id.Nil, "", dayOf(3, 9))
	all.Ends = true
	svctest.Refused(t, o.Service, o.payRules().SetBurden, all, fault.Invalid, "BURDEN_ENDS_FOR_ALL")
	both := burdenOf(o.nell, "5", dayOf(3, 9))
	both.Ends = true
	svctest.Refused(t, o.Service, o.payRules().SetBurden, both, fault.Invalid, "PERCENT_MALFORMED")
}
