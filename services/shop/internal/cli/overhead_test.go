package cli

import (
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

func march(day int32) *date.Date { return &date.Date{Year: 2026, Month: 3, Day: day} }

func TestOverhead_Rates(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("cost overhead set --per-hour 12.50 --from 2026-03-02"), &costingv1.SetOverheadRateRequest{
		Basis: costingv1.OverheadBasis_OVERHEAD_BASIS_LABOUR_HOUR, PerHour: usd(12_50), EffectiveDate: march(2)})
	f.gives(t, line("cost overhead set --per-hour 40 --by machine --from 2026-03-02 --department spray_booth --kind topcoat_coat,seal --replace"), &costingv1.SetOverheadRateRequest{
		Department: "spray_booth", StageKinds: []string{"topcoat_coat", "seal"}, Basis: costingv1.OverheadBasis_OVERHEAD_BASIS_MACHINE_HOUR,
		PerHour: usd(40_00), EffectiveDate: march(2), Replaces: true})
	f.gives(t, line("cost overhead set --per-hour 40 --from 2026-03-09 --department spray_booth --add-kind wax --add-kind seal"), &costingv1.SetOverheadRateRequest{
		Department: "spray_booth", StageKinds: []string{"wax", "seal"}, Adds: true, Basis: costingv1.OverheadBasis_OVERHEAD_BASIS_LABOUR_HOUR, PerHour: usd(40_00), EffectiveDate: march(9)})
	f.refuses(t, line("cost overhead set --per-hour 40 --from 2026-03-09 --department spray_booth --add-kind wax --kind seal"), "can't be used together")
	f.says(t, line("cost overhead set --per-hour 12.50 --from 2026-03-02"), "From 2026-03-02 on, the whole shop carries 12.50 per labour hour.\n")
	f.desk.left = []string{"topcoat_coat"}
	f.says(t, line("cost overhead set --per-hour 40 --department spray_booth --kind nonsense,seal --from 2026-03-09"),
		"From 2026-03-09 on, spray booth carries 40.00 per labour hour.\nIt does: nonsense, seal.\ntopcoat_coat goes back to the whole shop's rate from 2026-03-09.\n")
	f.desk.left = []string{"topcoat_coat", "seal"}
	f.says(t, line("cost overhead set --per-hour 0 --department spray_booth --from 2026-03-09"), "per labour hour.\ntopcoat_coat, seal go back to the whole shop's rate from 2026-03-09.\n")
	f.desk.left = nil
	f.refuses(t, line("cost overhead set --per-hour 12.505 --from 2026-03-02"), "more digits")
	f.refuses(t, line("cost overhead set --per-hour 12 --from March"), "is not a day such as")
	f.refuses(t, line("cost overhead set --per-hour 12 --from 2026-03-02 --by dollar"), "labour")
	f.desk.rates = []*costingv1.OverheadRate{{Department: "spray_booth", StageKinds: []string{"topcoat_coat", "seal"}, Basis: costingv1.OverheadBasis_OVERHEAD_BASIS_MACHINE_HOUR,
		PerHour: usd(40_00), EffectiveDate: march(2), Actor: "Odile"}, {Basis: costingv1.OverheadBasis_OVERHEAD_BASIS_LABOUR_HOUR, PerHour: usd(0), EffectiveDate: march(9), Actor: "Ana"}}
	f.says(t, line("cost overhead list"), "spray booth topcoat coat, seal 2026-03-02 40.00 machine Odile\n", "the whole shop 2026-03-09 0.00 labour Ana\n")
	f.desk.rates = append(f.desk.rates, &costingv1.OverheadRate{Department: "spray_booth", Basis: costingv1.OverheadBasis_OVERHEAD_BASIS_LABOUR_HOUR, PerHour: usd(9_00), EffectiveDate: march(2), Actor: "Ana"})
	f.says(t, line("cost overhead list"), "machine Odile replaced\nspray booth 2026-03-02 9.00 labour Ana\n")
}

// The sign maker's estimate, OpenStax, Principles of Accounting, Volume 2, chapter 4 (CC BY-NC-SA 4.0):
// overhead of 250,000 a year by 100,000 of labour, an hour being a dollar here.
func TestOverhead_Estimate(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	args := line("cost overhead estimate 'indirect labour=5000' 'indirect material=20000' utilities=75000 depreciation=90000 insurance=35000 interest=25000 --hours 100000h")
	f.says(t, args, "indirect labour 5000.00\n", "overhead 250000.00\n", "By 100000 hours, an hour should carry 2.50.")
	f.says(t, append(args, "--json"), `"perHour": "2.50"`, `"yearly": "250000.00"`)
	f.refuses(t, line("cost overhead estimate rent=1000 --hours 0h"), "HOURS_MISSING")
	f.refuses(t, line("cost overhead estimate rent=-1000 --hours 10h"), "AMOUNT_NEGATIVE")
	f.refuses(t, line("cost overhead estimate rent --hours 10h"), "not of the form")
}

func TestOverhead_Actuals(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("cost overhead actual add 'rent of March' --amount 1200 --day 2026-03-01 --note 'by cheque'"), &costingv1.EnterOverheadActualRequest{
		What: "rent of March", Amount: usd(1200_00), Date: march(1), Note: "by cheque"})
	f.says(t, line("cost overhead actual add 'rent of March' --amount 1200 --day 2026-03-01"), "1200.00 for rent of March on 2026-03-01, entered as x.\n")
	f.desk.actuals = []*costingv1.OverheadActual{
		{Name: "overheadActuals/x", Date: march(1), What: "rent", Amount: usd(1200_00), TakenBackBy: "overheadActuals/y", Actor: "Odile"},
		{Name: "overheadActuals/y", Date: march(1), What: "rent", Amount: usd(-1200_00), TakesBack: "overheadActuals/x", Reason: "twice", Actor: "Ana"},
		{Name: "overheadActuals/z", Date: march(7), What: "saw blade", Amount: usd(80_00), Note: "10 inch", Actor: "Ana"}}
	f.says(t, line("cost overhead actual list"), "x 2026-03-01 rent 1200.00 taken back Odile\n", "y 2026-03-01 rent -1200.00 takes back x: twice Ana\n",
		"z 2026-03-07 saw blade 80.00 10 inch Ana\n", "all 80.00\n")
	f.says(t, line("cost overhead actual list --month 2026-03"))
	if got := f.asks[len(f.asks)-1].(*costingv1.ListOverheadActualsRequest); got.Month.GetMonth() != 3 {
		t.Errorf("asked for %v", got)
	}
	f.gives(t, line("cost overhead actual take-back x --reason twice"), &costingv1.TakeBackOverheadActualRequest{Name: "overheadActuals/x", Reason: "twice"})
	f.says(t, line("cost overhead actual take-back x --reason twice"), "-1200.00 for rent, counted on 2026-03-01: taken back.\n")
}

// A kind of stage that no plan has may be a new one: it is set, and a note says so beside the answer.
func TestOverhead_NotesKindsThatNoPlanHas(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.desk.unknown = []*costingv1.UnknownStageKind{{StageKind: "toopcoat", Near: []string{"topcoat_coat", "toner_coat"}}, {StageKind: "no_such_kind"}}
	want := "No plan has a stage of the kind \"toopcoat\" yet; did you mean topcoat_coat or toner_coat?\nNo plan has a stage of the kind \"no_such_kind\" yet.\n"
	code, out, errs := f.run(t, line("cost overhead set --per-hour 4 --department booth --kind toopcoat,no_such_kind --from 2026-03-02")...)
	if code != 0 || !strings.Contains(out, "booth carries 4.00 per labour hour") || errs != want {
		t.Errorf("exits %d, prints %q and notes %q, want %q", code, out, errs, want)
	}
	f.answers.actuals = &costingv1.ListPlanActualsResponse{Total: &costingv1.PlanActual{}, UnknownStageKind: f.desk.unknown[1]}
	for _, form := range []string{"", " --csv", " --json"} {
		if code, out, errs := f.run(t, line("cost plan --kind no_such_kind"+form)...); code != 0 || strings.Contains(out, "No plan") || !strings.HasSuffix(want, errs) || errs == "" {
			t.Errorf("cost plan%s exits %d, prints %q and notes %q", form, code, out, errs)
		}
	}
}
