package server_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

const (
	labourHour  = costingv1.OverheadBasis_OVERHEAD_BASIS_LABOUR_HOUR
	machineHour = costingv1.OverheadBasis_OVERHEAD_BASIS_MACHINE_HOUR
)

func overheadOf(department string, basis costingv1.OverheadBasis, perHour int64, day *date.Date, kinds ...string) *costingv1.SetOverheadRateRequest {
	return &costingv1.SetOverheadRateRequest{RequestId: svctest.NewID(), Department: department, StageKinds: kinds, Basis: basis, PerHour: usd(perHour), EffectiveDate: day}
}

func (o *office) overheads() costingv1.OverheadServiceClient {
	return costingv1.NewOverheadServiceClient(o.Conn)
}

func (o *office) setOverhead(t *testing.T, r *costingv1.SetOverheadRateRequest) {
	t.Helper()
	if _, err := o.overheads().SetOverheadRate(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
}

func (o *office) rebuild(t *testing.T) {
	t.Helper()
	r, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{})
	if err != nil || r.DifferenceCount != 0 {
		t.Fatalf("the rebuild finds %d differences, %v", r.GetDifferenceCount(), err)
	}
}

// An overhead rate that comes after the work, by the labour hour or the machine hour, is carried by
// it; so is one that takes its place; and a rebuild says the same, of a sold piece too.
func TestServer_SetOverheadRate_InThePast(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.worked(piece, monday)
	o.worked(piece, monday.Add(30*time.Minute)) // another hour on the same stage, half of it at the same time
	o.sold(piece, 9_000)
	overhead := func(want int64) {
		t.Helper()
		c := o.cost(t, piece, func(c *costingv1.PieceCost) bool {
			return c.State == costingv1.PieceCost_STATE_SOLD && c.Sums.LabourTime.AsDuration() == 2*time.Hour && cents(c.Sums.Acquisition) == 1_000 && cents(c.Sums.Overhead) == want
		})
		if cents(c.Sums.Profit) != 9_000-1_000-want {
			t.Errorf("profit = %d with overhead of %d", cents(c.Sums.Profit), want)
		}
		o.clean(t)
		o.rebuild(t)
	}
	overhead(0)
	o.setOverhead(t, overheadOf("", labourHour, 1_000, dayOf(3, 1)))
	overhead(2_000)
	o.setOverhead(t, overheadOf("bench", machineHour, 4_000, dayOf(3, 1), "sand", "fill"))
	overhead(6_000) // an hour and a half, by the machine alone
	o.setOverhead(t, overheadOf("bench", machineHour, 4_400, dayOf(3, 2), "sand"))
	overhead(6_600)
	again := overheadOf("bench", machineHour, 2_000, dayOf(3, 2), "sand")
	again.Replaces = true
	o.setOverhead(t, again)
	overhead(3_000)
	gone := overheadOf("bench", machineHour, 0, dayOf(3, 2))
	gone.Replaces = true
	o.setOverhead(t, gone)
	overhead(2_000)
	list, err := o.overheads().ListOverheadRates(t.Context(), &costingv1.ListOverheadRatesRequest{PageSize: 2})
	if err != nil || len(list.OverheadRates) != 2 || list.NextPageToken == "" {
		t.Fatalf("rates = %v, %v", list, err)
	}
	if r := list.OverheadRates[1]; r.Department != "bench" || len(r.StageKinds) != 2 || r.Basis != machineHour || cents(r.PerHour) != 4_000 || r.Actor != svctest.Actor {
		t.Errorf("the second rate is %v", r)
	}
}

// The answer says which kinds a department has now and which left it, whose hours carry the whole shop's rate again; one
// can be added without naming all.
func TestServer_SetOverheadRate_SaysWhatLeaves(t *testing.T) {
	t.Parallel()
	o := setup(t)
	o.setOverhead(t, overheadOf("", labourHour, 1_000, dayOf(3, 1)))
	piece := o.takenIn(7, 1_000)
	o.tell(piece, o.span(monday.AddDate(0, 0, 6), time.Hour)) // at sanding
	o.tell(piece, o.span(monday.AddDate(0, 0, 7), time.Hour))
	for _, c := range []struct {
		rate       *costingv1.SetOverheadRateRequest
		adds       bool
		have, left []string
		overhead   int64
	}{
		{overheadOf("booth", labourHour, 4_000, dayOf(3, 1), "sand"), false, []string{"sand"}, nil, 8_000},
		{overheadOf("booth", labourHour, 4_000, dayOf(3, 8), "seal"), true, []string{"sand", "seal"}, nil, 8_000},
		{overheadOf("booth", labourHour, 4_000, dayOf(3, 9), "nonsense", "seal"), false, []string{"nonsense", "seal"}, []string{"sand"}, 5_000},
	} {
		c.rate.Adds = c.adds
		r, err := o.overheads().SetOverheadRate(svctest.Ctx(t), c.rate)
		if err != nil || !slices.Equal(r.OverheadRate.StageKinds, c.have) || !slices.Equal(r.LeftStageKinds, c.left) {
			t.Errorf("it has %v and %v left, %v; want %v and %v", r.GetOverheadRate().GetStageKinds(), r.GetLeftStageKinds(), err, c.have, c.left)
		}
		o.cost(t, piece, func(p *costingv1.PieceCost) bool { return cents(p.Sums.Overhead) == c.overhead })
		again, err := o.overheads().SetOverheadRate(svctest.Ctx(t), c.rate)
		if err != nil || !proto.Equal(r, again) {
			t.Errorf("asked again it answers %v, %v; want %v", again, err, r)
		}
	}
	o.clean(t)
}

// A machine that has a rate before the work runs with it, and what is corrected is corrected there.
func TestServer_MachineHours(t *testing.T) {
	t.Parallel()
	o := setup(t)
	o.setOverhead(t, overheadOf("", machineHour, 3_000, dayOf(3, 1)))
	piece := o.takenIn(7, 1_000)
	one := o.tell(piece, o.span(monday, time.Hour))
	o.tell(piece, o.span(monday.Add(30*time.Minute), time.Hour))
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Overhead) == 4_500 })
	o.corrected(piece, one, 10*time.Minute)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Overhead) == 500+3_000 })
	seat := o.clockedOn(piece, monday.Add(5*time.Hour)) // again, on another stage
	o.clockedOff(piece, seat)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool {
		return cents(c.Sums.Overhead) == 3_500 && cents(c.Sums.Rework) == 3_000
	})
	o.clean(t)
	o.rebuild(t)
	o.exec(t, `UPDATE costing.posting SET amount = amount * 2 WHERE group_kind = 'machine'`)
	if r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{}); err != nil || r.Clean {
		t.Errorf("machine hours that are wrong verify: %v, %v", r, err)
	}
}

func TestServer_SetOverheadRate_Refuses(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.settle(t)
	refused := func(r *costingv1.SetOverheadRateRequest, kind fault.Kind, reason string) *fault.Fault {
		t.Helper()
		return svctest.Refused(t, o.Service, o.overheads().SetOverheadRate, r, kind, reason)
	}
	o.setOverhead(t, overheadOf("bench", labourHour, 1_000, dayOf(3, 1), "sand"))
	refused(overheadOf("", labourHour, 1_000, dayOf(2, 30)), fault.Invalid, "DATE_MALFORMED")
	refused(overheadOf("", labourHour, 1_000, &date.Date{Year: 2031, Month: 1, Day: 1}), fault.Invalid, "DATE_ABSURD")
	refused(overheadOf("", labourHour, -1, dayOf(3, 1)), fault.Invalid, "AMOUNT_NEGATIVE")
	refused(overheadOf("", labourHour, 10_000_01, dayOf(3, 1)), fault.Invalid, "RATE_ABSURD")
	refused(overheadOf("", labourHour, 1_000, dayOf(3, 1), "sand"), fault.Invalid, "DEPARTMENT_MISSING")
	refused(overheadOf("booth", labourHour, 1_000, dayOf(3, 1)), fault.Invalid, "STAGE_KINDS_MISSING")
	refused(overheadOf("booth", machineHour, 1_000, dayOf(3, 9), "topcoat_coat", "sand"), fault.Conflict, "STAGE_KIND_IN_TWO_DEPARTMENTS")
	namesTheFlag(t, refused(overheadOf("bench", labourHour, 2_000, dayOf(3, 1), "sand"), fault.Conflict, "OVERHEAD_RATE_OVERLAPS"))
	refused(overheadOf("Bench 2", labourHour, 2_000, dayOf(3, 1), "sand"), fault.Invalid, "INVALID_FIELD")
	refused(overheadOf("", 0, 2_000, dayOf(3, 1)), fault.Invalid, "INVALID_FIELD")
	euros := overheadOf("", labourHour, 2_000, dayOf(3, 1))
	euros.PerHour.CurrencyCode = "EUR"
	refused(euros, fault.Invalid, "CURRENCY_NOT_THE_SHOPS")
	o.closeMonth(t, 3, toSold)
	if f := refused(overheadOf("", labourHour, 2_000, dayOf(3, 31)), fault.Precondition, "MONTH_CLOSED"); !strings.Contains(f.Text, "shop cost month reopen 2026-03") || f.Meta["month"] != "2026-04" {
		t.Errorf("it is refused by %q, %v, which does not name both ways", f.Text, f.Meta)
	}
	o.setOverhead(t, overheadOf("", labourHour, 2_000, dayOf(4, 1)))
}

func actualOf(what string, amount int64, day *date.Date) *costingv1.EnterOverheadActualRequest {
	return &costingv1.EnterOverheadActualRequest{RequestId: svctest.NewID(), What: what, Amount: usd(amount), Date: day}
}

func (o *office) spend(t *testing.T, what string, amount int64, day *date.Date) *costingv1.OverheadActual {
	t.Helper()
	r, err := o.overheads().EnterOverheadActual(svctest.Ctx(t), actualOf(what, amount, day))
	if err != nil {
		t.Fatal(err)
	}
	return r.OverheadActual
}

func takeBackOf(name string) *costingv1.TakeBackOverheadActualRequest {
	return &costingv1.TakeBackOverheadActualRequest{RequestId: svctest.NewID(), Name: name, Reason: "entered twice"}
}

// What was spent is booked on its day and stays in the list when it is taken back; a rebuild books all
// of it again from the list, and verify sees a row that says otherwise.
func TestServer_OverheadActuals(t *testing.T) {
	t.Parallel()
	o := paying(t)
	rent := o.spend(t, "rent of March", 120_000, dayOf(3, 1))
	blade := o.spend(t, "saw blade", 8_000, dayOf(4, 7))
	back, err := o.overheads().TakeBackOverheadActual(svctest.Ctx(t), takeBackOf(blade.Name))
	if err != nil || cents(back.OverheadActual.Amount) != -8_000 || back.OverheadActual.TakesBack != blade.Name || !proto.Equal(back.OverheadActual.Date, dayOf(4, 7)) {
		t.Fatalf("take back = %v, %v", back, err)
	}
	o.balance(t, nil, "overhead_actual", 120_000)
	o.clean(t)
	o.rebuild(t)
	o.balance(t, nil, "cash_clearing", -120_000)
	list, err := o.overheads().ListOverheadActuals(t.Context(), &costingv1.ListOverheadActualsRequest{PageSize: 2})
	if err != nil || len(list.OverheadActuals) != 2 || list.OverheadActuals[0].Name != rent.Name || list.OverheadActuals[1].TakenBackBy != back.OverheadActual.Name {
		t.Errorf("list = %v, %v", list, err)
	}
	rest, err := o.overheads().ListOverheadActuals(t.Context(), &costingv1.ListOverheadActualsRequest{PageToken: list.GetNextPageToken(), Month: dayOf(4, 30)})
	if err != nil || len(rest.OverheadActuals) != 1 || rest.OverheadActuals[0].Reason != "entered twice" || rest.NextPageToken != "" {
		t.Errorf("the rest = %v, %v", rest, err)
	}
	o.exec(t, `UPDATE costing.overhead_actual SET amount = amount + 1 WHERE amount = 120000`)
	if r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{}); err != nil || r.Clean {
		t.Errorf("a ledger that says otherwise than the list verifies: %v, %v", r, err)
	}
}

func TestServer_OverheadActuals_Refuse(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.settle(t)
	refused := func(r *costingv1.EnterOverheadActualRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, o.Service, o.overheads().EnterOverheadActual, r, kind, reason)
	}
	refused(actualOf("rent", 0, dayOf(3, 1)), fault.Invalid, "AMOUNT_NOT_POSITIVE")
	refused(actualOf("rent", -1, dayOf(3, 1)), fault.Invalid, "AMOUNT_NEGATIVE")
	refused(actualOf(" ", 1, dayOf(3, 1)), fault.Invalid, "INVALID_FIELD")
	refused(actualOf("rent", 1, dayOf(4, 9)), fault.Invalid, "DATE_IN_FUTURE")
	refused(actualOf("rent", 1, &date.Date{Year: 1999, Month: 1, Day: 1}), fault.Invalid, "DATE_ABSURD")
	euros := actualOf("rent", 1, dayOf(3, 1))
	euros.Amount.CurrencyCode = "EUR"
	refused(euros, fault.Invalid, "CURRENCY_NOT_THE_SHOPS")
	rent := o.spend(t, "rent", 120_000, dayOf(3, 1))
	o.closeMonth(t, 3, toSold)
	refused(actualOf("power", 1, dayOf(3, 31)), fault.Precondition, "MONTH_CLOSED")

	takeBack := o.overheads().TakeBackOverheadActual
	svctest.Refused(t, o.Service, takeBack, takeBackOf("rent"), fault.Invalid, "INVALID_NAME")
	svctest.Refused(t, o.Service, takeBack, takeBackOf(id.Name("overheadActuals", id.New())), fault.NotFound, "OVERHEAD_ACTUAL_NOT_FOUND")
	back, err := takeBack(svctest.Ctx(t), takeBackOf(rent.Name))
	if err != nil || !proto.Equal(back.OverheadActual.Date, dayOf(4, 1)) {
		t.Fatalf("of a closed month it counts on %v, %v; want the first day that is open", back.GetOverheadActual().GetDate(), err)
	}
	svctest.Refused(t, o.Service, takeBack, takeBackOf(rent.Name), fault.Precondition, "OVERHEAD_ACTUAL_TAKEN_BACK")
	svctest.Refused(t, o.Service, takeBack, takeBackOf(back.OverheadActual.Name), fault.Precondition, "OVERHEAD_ACTUAL_TAKEN_BACK")
	o.clean(t)
}
