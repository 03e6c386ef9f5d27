package cli

import (
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	intakev1 "tackfree/proto/tackfree/intake/v1"
)

func TestClient_Commands(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("client add 'Cy Lund' --phone '555 0199' --email cy@example.org --address '1 Quay' --address Barton --tax-exempt museum --tax-number M-1"),
		&intakev1.AddClientRequest{Details: &intakev1.ClientDetails{DisplayName: "Cy Lund", Phone: "555 0199", Email: "cy@example.org", Address: []string{"1 Quay", "Barton"},
			TaxExemption: &intakev1.TaxExemption{Reason: "museum", Number: "M-1"}}})
	// What no flag names stays.
	f.gives(t, line("client change 1 --phone 555 --tax-exempt ''"), &intakev1.ChangeClientRequest{Client: "clients/a", Etag: `"1"`,
		Details: &intakev1.ClientDetails{DisplayName: "Ana Ruiz", Phone: "555", Address: []string{"4 Mill Lane"}}})
	f.gives(t, line("client retire 1"), &intakev1.RetireClientRequest{Client: "clients/a"})
	f.refuses(t, line("client retire 9"), "there is no client 9")
	for text, want := range map[string][]string{
		"client list": {"Ana Ruiz", "exempt: church E-7"}, "client list --retired": {"Bo (off the list)"}, "client show 1": {"Client 1: Ana Ruiz", "4 Mill Lane", "555 0101"},
	} {
		f.says(t, line(text), want...)
	}
	if out := f.says(t, line("client list")); strings.Contains(out, "Bo") {
		t.Errorf("shop client list prints %q, with somebody who is off it", out)
	}
	f.gives(t, line("piece take-in 'Oak chair' --kind chair --client 1 --part whole"), &intakev1.TakeInPieceRequest{Title: "Oak chair", Kind: "chair", Parts: []*intakev1.Part{{Label: "whole"}},
		Origin: &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: "Ana Ruiz", ClientRecord: "clients/a"}}})
}

func typedDraft() *intakev1.EstimateDraft {
	return &intakev1.EstimateDraft{TaxPercent: "8.875", DiscountPercent: "10", Deposit: usd(200_00), ValidUntil: &date.Date{Year: 2026, Month: 4, Day: 1}, Promised: &date.Date{Year: 2026, Month: 5, Day: 1}, Notes: "matt",
		Lines: []*intakev1.EstimateLine{
			{What: "strip: refinish", Of: &intakev1.EstimateLine_Labour_{Labour: &intakev1.EstimateLine_Labour{HoursLow: "8", HoursLikely: "10", HoursHigh: "14"}}},
			{What: "drawer", Of: &intakev1.EstimateLine_Labour_{Labour: &intakev1.EstimateLine_Labour{HoursLikely: "1.5", Rate: usd(70_00)}}},
			{What: "varnish", Of: &intakev1.EstimateLine_Material_{Material: &intakev1.EstimateLine_Material{Cost: usd(43_37)}}},
			{What: "veneer", Of: &intakev1.EstimateLine_Material_{Material: &intakev1.EstimateLine_Material{Cost: usd(60_00), MarkupPercent: "20"}}},
			{What: "fetch", Untaxed: true, Of: &intakev1.EstimateLine_Fixed{Fixed: usd(40_00)}}}}
}

const draftLine = "--labour 'strip: refinish:8-10-14' --labour drawer:1.5@70 --material varnish:43.37 --material veneer:60+20% --other fetch:40 --untaxed fetch " +
	"--discount 10% --tax 8.875% --deposit 200 --valid-until 2026-04-01 --done-by 2026-05-01 --notes matt"

func TestCommission_Estimate(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("commission estimate 1 'a walnut table' --piece 1 --at '2026-03-02 12:00' "+draftLine),
		&intakev1.DraftEstimateRequest{Client: "clients/a", Piece: "pieces/a", Description: "a walnut table", Draft: typedDraft(), DraftTime: middayPlus(0)})
	f.gives(t, line("commission revise 3 --reason 'a matt finish' "+draftLine), &intakev1.ReviseEstimateRequest{Commission: "commissions/c", Reason: "a matt finish", Etag: `"4"`, Draft: typedDraft()})
	// What the finish plan suggests comes before what is typed.
	suggested := &intakev1.EstimateDraft{Promised: f.counter.suggests.Draft.Promised, Lines: []*intakev1.EstimateLine{f.counter.suggests.Draft.Lines[0],
		{What: "fetch", Of: &intakev1.EstimateLine_Fixed{Fixed: usd(40_00)}}}}
	f.gives(t, line("commission estimate 1 table --piece 1 --suggested --other fetch:40"), &intakev1.DraftEstimateRequest{Client: "clients/a", Piece: "pieces/a", Description: "table", Draft: suggested})
	for text, want := range map[string]string{
		"--labour strip":              "says no figure",
		"--labour strip:1-2":          "neither one number nor three",
		"--material varnish:much":     `"much" is not an amount`,
		"--other fetch:4 --untaxed x": `no line is called so`,
		"--other :4":                  "says no figure",
	} {
		f.refuses(t, line("commission estimate 1 table "+text), want)
	}
}

func TestCommission_Answers(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("commission approve 3 2 --how by-phone --at '2026-03-02 12:00'"), &intakev1.ApproveEstimateRequest{Commission: "commissions/c", Version: 2,
		Answer: &intakev1.ClientAnswer{By: "Ana Ruiz", How: intakev1.ClientAnswer_HOW_BY_PHONE, Time: middayPlus(0)}})
	f.gives(t, line("commission decline 3 2 --how in-writing --by 'her son' --reason 'too dear'"), &intakev1.DeclineEstimateRequest{Commission: "commissions/c", Version: 2,
		Answer: &intakev1.ClientAnswer{By: "her son", How: intakev1.ClientAnswer_HOW_IN_WRITING, Reason: "too dear"}})
	f.gives(t, line("commission bring 3 1"), &intakev1.BringPieceRequest{Commission: "commissions/c", Piece: "pieces/a"})
	f.gives(t, line("commission change add 3 --reason worm --other legs:80 --done-by 2026-06-01"), &intakev1.AddChangeOrderRequest{Commission: "commissions/c", Reason: "worm",
		Lines: []*intakev1.EstimateLine{{What: "legs", Of: &intakev1.EstimateLine_Fixed{Fixed: usd(80_00)}}}, Promised: &date.Date{Year: 2026, Month: 6, Day: 1}})
	f.gives(t, line("commission change approve 3 1 --how in-person"), &intakev1.AnswerChangeOrderRequest{Commission: "commissions/c", Number: 1, Approve: true,
		Answer: &intakev1.ClientAnswer{By: "Ana Ruiz", How: intakev1.ClientAnswer_HOW_IN_PERSON}})
	f.gives(t, line("commission change decline 3 1 --how in-person --reason dear"), &intakev1.AnswerChangeOrderRequest{Commission: "commissions/c", Number: 1,
		Answer: &intakev1.ClientAnswer{By: "Ana Ruiz", How: intakev1.ClientAnswer_HOW_IN_PERSON, Reason: "dear"}})
	f.gives(t, line("commission cancel 3 --reason 'moving away' --deposit-paid 427.34"), &intakev1.CancelCommissionRequest{Commission: "commissions/c", Reason: "moving away", DepositPaid: usd(427_34)})
	f.gives(t, line("commission terms --rate 70 --tax 0% --cancel work-done-and-percent --cancel-percent 20"), &intakev1.SetCommissionTermsRequest{Etag: `"1"`, Terms: &intakev1.CommissionTerms{Rate: usd(70_00),
		MarkupPercent: "35", TaxPercent: "0", DepositPercent: "50", ValidDays: 30, CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT, CancelPercent: "20", Etag: `"1"`}})
	f.refuses(t, line("commission approve 9 1 --how by-phone"), "there is no commission 9")
	f.refuses(t, line("commission approve 3 1"), "--how")
	f.refuses(t, line("commission show 3 --version 7"), "has no version 7")
	f.refuses(t, line("commission suggest"), "say --piece")
}

// What people read says every figure, and what is still to be done.
func TestCommission_Says(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	for text, want := range map[string][]string{
		"commission show 3": {"Commission 3 for Ana Ruiz: a walnut table (piece 1)", "10 h (8 to 14) at", "100.00 and 35 %, not taxed", "8.875 % of", "837.24", "exempt: church E-7", "Change order 1, approved by Ana Ruiz: worm in a leg",
			"and 20 % of the rest", "! It is presumed to hold lead.", "250 minutes at", "14.76", "45 minutes more", "To be invoiced: ", "by phone"},
		"commission list":                                             {"a walnut table", "837.24", "2026-05-01", "approved"},
		"commission cancel 3 --reason x":                              {"Commission 3 is cancelled.", "20 % of what is left of", "442.10", "The client still owes"},
		"commission approve 3 2 --how by-phone":                       {"is approved by Ana Ruiz", "shop piece promise 1 --by 2026-05-01"},
		"commission suggest --piece 1":                                {"version 2 of the finish plan, of 9 stages", "in no line: stain", "2026-05-03", "! Test it first."},
		"commission terms":                                            {"65.00", "35 %", "8.875 %", "50 %", "30 days", "the work that was done"},
		"commission change decline 3 1 --how in-person --reason dear": {"declined: dear"},
	} {
		f.says(t, line(text), want...)
	}
	f.asksFor(t, line("commission suggest --piece 1"), &intakev1.SuggestEstimateRequest{Piece: "pieces/a"})
	f.asksFor(t, line("commission list --state approved --client 1"), &intakev1.ListCommissionsRequest{State: intakev1.CommissionOrder_STATE_APPROVED, Client: "clients/a", PageSize: 1000})
	f.counter.suggests.Basis = &intakev1.SuggestEstimateResponse_Basis{Minutes: 300, MinutesLearned: 75, NoDay: "The piece was not brought yet."}
	f.counter.suggests.Draft.Promised = nil
	f.asksFor(t, line("commission suggest --kind dresser --size large --material veneer --look paint --defect burn"), &intakev1.SuggestEstimateRequest{Wanted: &intakev1.WorkWanted{Kind: "dresser",
		Size: sizesByWord["large"], Material: "veneer", Look: "paint", Defects: []string{"burn"}}})
	if out := f.says(t, line("commission suggest --piece 1")); !strings.Contains(out, "75 of 300 minutes were learned here") || !strings.Contains(out, "No day is suggested: The piece was not brought yet.") {
		t.Errorf("it prints %q", out)
	}
	f.counter.commissions[0].Settlement.ToPay, f.counter.commissions[0].Settlement.ToRefund = nil, usd(9_00)
	if out := f.says(t, line("commission cancel 3 --reason x")); !strings.Contains(out, "9.00 comes back to the client") {
		t.Errorf("it prints %q", out)
	}
}
