package commissions

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pagetest"
)

// never is what no page says: a key without a text, a style of its own, what somebody typed taken for markup.
var never = []string{"[commissions", "[orders", "style=", "<walnut>", "<b>Ruiz", "<leg>", "%!"}

func TestList(t *testing.T) {
	s := counter()
	s.others = []*intakev1.CommissionOrder{{Name: "commissions/o2", Number: 13, ClientName: "Bo", Description: "a chair", State: intakev1.CommissionOrder_STATE_APPROVED, Promised: march(17), Piece: "pieces/p1", PieceTag: 9}}
	status, body := serve(t, s).Get("/commissions")
	pagetest.Want(t, "the list", status, http.StatusOK, body, []string{"the promised day is over", "the estimate runs out soon", `href="/commissions/o1"`, `href="/pieces/9"`, "20 Mar 2026", "Commission 13", "estimate open", "600.00", "by 17 Mar 2026"}, never)
	if strings.Index(body, "the promised day is over") > strings.Index(body, "the estimate runs out soon") {
		t.Error("what is over is not first")
	}
	_, body = serve(t, s).Get("/commissions?state=approved")
	if all := body[strings.Index(body, `id="all"`):]; strings.Contains(all, "Commission 12") || !strings.Contains(all, "Commission 13") {
		t.Errorf("of the approved: %s", all)
	}
}

func TestOne(t *testing.T) {
	s := counter()
	status, body := serve(t, s).Get("/commissions/o1")
	pagetest.Want(t, "an open one", status, http.StatusOK, body, []string{"Commission 12: Refinish a &lt;walnut&gt; table", `href="/clients/c1"`, "Estimate, version 2", "8 - 9 - 12 h at 65.00", "cost 100.00, and 35 %", "Varnish (not taxed)", "520.00 to 910.00",
		"Holds until 20 Mar 2026", `name="version" value="2"`, `class="changed"`, "less gloss", `/commissions/o1/estimate.pdf?version=1`, `href="/commissions/o1/revise"`, `/pieces/new?commission=o1&amp;client=c1`, "If it is cancelled, what was done is owed."},
		append([]string{`/commissions/o1/change"`, "Close it", "invoice.pdf", `href="/letterhead">Letterhead</a></p>`}, never...))
	// What is alike in both versions is not marked: of the line, of the new one and of the total three cells are.
	if n := strings.Count(body, `class="changed"`); n != 3 {
		t.Errorf("%d cells are marked", n)
	}
	s.head = &intakev1.Letterhead{}
	status, body = serve(t, s.approved()).Get("/commissions/o1")
	pagetest.Want(t, "an approved one", status, http.StatusOK, body, []string{"Approved by Ana on 18 Mar 2026", "by telephone", "worm in a &lt;leg&gt;", `name="number" value="1"`, `/commissions/o1/changes/1/pdf`, "Close it", "600.00 and 0.00 of tax, 600.00 in all.", `href="/pieces/41#do-promise"`,
		`href="/commissions/o1/change"`, "Letters can be printed once"}, append([]string{`/commissions/o1/revise"`, `action="/commissions/o1/approve"`, `action="/commissions/o1/bring"`}, never...))
	s.order.State, s.order.Finish = intakev1.CommissionOrder_STATE_FINISHED, &intakev1.CommissionOrder_Finish{Invoiced: true, Time: timestamppb.New(wednesday)}
	_, body = serve(t, s).Get("/commissions/o1")
	pagetest.Want(t, "a finished one", 200, 200, body, []string{"Invoiced; finished on 18 Mar 2026"}, []string{`href="/commissions/o1/cancel"`, `action="/commissions/o1/answer"`, `action="/commissions/o1/finish"`})
	s.order.State, s.order.Finish, s.order.Settlement = intakev1.CommissionOrder_STATE_CANCELLED, nil, settled()
	_, body = serve(t, s).Get("/commissions/o1")
	pagetest.Want(t, "a cancelled one", 200, 200, body, []string{"moving &lt;away&gt;", "442.10", "14.76"}, append([]string{`href="/commissions/o1/cancel"`}, never...))
	status, _ = serve(t, s).Get("/commissions/none")
	if status != http.StatusNotFound {
		t.Errorf("one that is not there: %d", status)
	}
}

func TestAnswers(t *testing.T) {
	s := counter()
	v := serve(t, s)
	status, to := v.Send("/commissions/o1/approve", url.Values{"request_id": {"r1"}, "version": {"2"}, "by": {" Ana "}, "how": {"by_phone"}, "at": {"2026-03-18T10:00"}, "etag": {`"4"`}})
	pagetest.Want(t, "approved", status, http.StatusSeeOther, to, []string{"/commissions/o1"}, nil)
	if r := last[*intakev1.ApproveEstimateRequest](t, s); r.RequestId != "r1" || r.Version != 2 || r.Etag != `"4"` || r.Answer.By != "Ana" || r.Answer.How != intakev1.ClientAnswer_HOW_BY_PHONE || r.Answer.Time.AsTime().Hour() != 10 || r.Commission != "commissions/o1" {
		t.Errorf("approved by %v", r)
	}
	v.Send("/commissions/o1/decline", url.Values{"version": {"2"}, "by": {"Ana"}, "how": {"in_writing"}, "reason": {"too dear"}})
	if r := last[*intakev1.DeclineEstimateRequest](t, s); r.Answer.Reason != "too dear" || r.Version != 2 {
		t.Errorf("declined by %v", r)
	}
	v.Send("/commissions/o1/answer", url.Values{"number": {"1"}, "answer": {"yes"}, "by": {"Ana"}, "how": {"in_person"}})
	if r := last[*intakev1.AnswerChangeOrderRequest](t, s); !r.Approve || r.Number != 1 {
		t.Errorf("answered by %v", r)
	}
	v.Send("/commissions/o1/answer", url.Values{"number": {"1"}, "answer": {"no"}, "by": {"Ana"}, "how": {"in_person"}, "reason": {"no"}})
	if r := last[*intakev1.AnswerChangeOrderRequest](t, s); r.Approve {
		t.Errorf("answered by %v", r)
	}
	v.Send("/commissions/o1/bring", url.Values{"piece": {"41"}})
	if r := last[*intakev1.BringPieceRequest](t, s); r.Piece != "pieces/p41" {
		t.Errorf("brought by %v", r)
	}
	v.Send("/commissions/o1/finish", url.Values{"reason": {"paid in kind"}})
	if r := last[*intakev1.FinishCommissionRequest](t, s); r.Reason != "paid in kind" {
		t.Errorf("finished by %v", r)
	}
	// What was typed is there again, in a form that stands open, and whoever was slower is told kindly.
	s.fails = fault.New(fault.Conflict, "ETAG_MISMATCH", "It moved on.")
	status, body := v.Send("/commissions/o1/approve", url.Values{"version": {"2"}, "by": {"Ana's sister"}, "how": {"by_phone"}})
	pagetest.Want(t, "moved on", status, http.StatusConflict, body, []string{`<details id="approve" open>`, `value="Ana&#39;s sister"`, "Somebody else did something to this commission", `value="by_phone" required checked`}, never)
	s.commands = nil
	for path, form := range map[string]url.Values{"bring": {"piece": {""}}, "approve": {"version": {"two"}, "by": {"a"}}, "decline": {"version": {"1"}, "at": {"yesterday"}}} {
		if status, body := v.Send("/commissions/o1/"+path, form); status != http.StatusBadRequest || len(s.commands) > 0 || !strings.Contains(body, `role="alert"`) {
			t.Errorf("%s of %v: %d, commanded %v", path, form, status, s.commands)
		}
	}
}

// lineForm is a form of three lines.
func lineForm() url.Values {
	return url.Values{"request_id": {"r1"}, "client": {"c1"}, "description": {"a table"}, "piece": {"41"}, "what": {"Strip", "", "Varnish", "Fetch"}, "sort": {"labour", "labour", "material", "fixed"}, "hours": {"8 - 9,5 – 12", "", "", ""},
		"amount": {"", "", "43,37", "40"}, "markup": {"", "", "20 %", ""}, "untaxed": {"3"}, "tax": {"8.875"}, "discount": {"10%"}, "deposit": {"200"}, "valid": {"2026-04-01"}, "promised": {"2026-05-01"}, "notes": {"matt"}, "then": {"keep"}}
}

func TestBegin(t *testing.T) {
	s := counter()
	v := serve(t, s)
	status, to := v.Get("/commissions/new")
	pagetest.Want(t, "without a client", status, http.StatusSeeOther, to, []string{"/clients"}, nil)
	status, body := v.Get("/commissions/new?client=c1&piece=41")
	pagetest.Want(t, "the form", status, http.StatusOK, body, []string{"New commission for Ana &lt;b&gt;Ruiz", `name="piece" inputmode="numeric" maxlength="9" autocomplete="off" value="41"`, `placeholder="8.875"`, `placeholder="50 %"`, "an hour is 65.00"}, never)
	status, to = v.Send("/commissions/new", lineForm())
	pagetest.Want(t, "begun", status, http.StatusSeeOther, to, []string{"/commissions/o1"}, nil)
	r := last[*intakev1.DraftEstimateRequest](t, s)
	want := &intakev1.DraftEstimateRequest{RequestId: "r1", Client: "clients/c1", Piece: "pieces/p41", Description: "a table", Draft: &intakev1.EstimateDraft{TaxPercent: "8.875", DiscountPercent: "10", Deposit: usd(200_00), Notes: "matt", ValidUntil: r.Draft.ValidUntil, Promised: r.Draft.Promised,
		Lines: []*intakev1.EstimateLine{
			{What: "Strip", Of: &intakev1.EstimateLine_Labour_{Labour: &intakev1.EstimateLine_Labour{HoursLow: "8", HoursLikely: "9.5", HoursHigh: "12"}}},
			{What: "Varnish", Of: &intakev1.EstimateLine_Material_{Material: &intakev1.EstimateLine_Material{Cost: usd(43_37), MarkupPercent: "20"}}},
			{What: "Fetch", Untaxed: true, Of: &intakev1.EstimateLine_Fixed{Fixed: usd(40_00)}}}}}
	if !proto.Equal(want, r) || r.Draft.ValidUntil.Month != 4 || r.Draft.Promised.Month != 5 {
		t.Errorf("begun by %v", r)
	}
}

// More lines, and suggested ones, keep what was typed and give no command.
func TestBegin_MoreAndSuggested(t *testing.T) {
	s := counter()
	v := serve(t, s)
	form := lineForm()
	form.Set("then", "more")
	status, body := v.Send("/commissions/new", form)
	pagetest.Want(t, "more lines", status, http.StatusOK, body, []string{`value="Varnish"`, `value="8 - 9,5 – 12"`, `value="2" checked`}, never)
	if n := strings.Count(body, `name="what"`); n != 3+moreLines || len(s.commands) > 0 {
		t.Errorf("%d lines, commanded %v", n, s.commands)
	}
	form.Set("then", "suggest")
	form.Del("promised")
	status, body = v.Send("/commissions/new", form)
	pagetest.Want(t, "suggested", status, http.StatusOK, body, []string{`value="Refinish &lt;it&gt;"`, `value="8 - 10 - 14"`, `value="Varnish"`, "9 stages", "No price is known of stain", "It is presumed to hold lead.", `name="promised" value="2026-03-30"`}, never)
	if r := s.asked.(*intakev1.SuggestEstimateRequest); r.Piece != "pieces/p41" || r.Wanted != nil || len(s.commands) > 0 {
		t.Errorf("asked %v, commanded %v", r, s.commands)
	}
	form.Set("want_look", "stain")
	form.Set("want_kind", "table")
	form.Set("want_size", "large")
	v.Send("/commissions/new", form)
	if r := s.asked.(*intakev1.SuggestEstimateRequest); r.Wanted.GetLook() != "stain" || r.Wanted.Kind != "table" || r.Wanted.Size != typev1.PieceSize_PIECE_SIZE_LARGE || r.Wanted.Material != "solid wood" {
		t.Errorf("asked %v", r)
	}
	s.fails = fault.New(fault.Precondition, "WORK_UNKNOWN", "Nobody says what is to be done.")
	status, body = v.Send("/commissions/new", form)
	pagetest.Want(t, "nothing to suggest", status, http.StatusUnprocessableEntity, body, []string{"Nobody says what is to be done.", `value="Varnish"`}, nil)
}

func TestBegin_Refused(t *testing.T) {
	for name, spoil := range map[string]func(url.Values){
		"no lines":            func(q url.Values) { q.Del("what"); q.Del("hours"); q.Del("amount"); q.Del("markup") },
		"a line without what": func(q url.Values) { q["what"][0] = "" },
		"no cost":             func(q url.Values) { q["amount"][2] = "" },
		"hours of two":        func(q url.Values) { q["hours"][0] = "8-9" },
		"hours in words":      func(q url.Values) { q["hours"][0] = "many" },
		"a tax in words":      func(q url.Values) { q.Set("tax", "much") },
		"a day in words":      func(q url.Values) { q.Set("promised", "soon") },
	} {
		s, form := counter(), lineForm()
		spoil(form)
		status, body := serve(t, s).Send("/commissions/new", form)
		pagetest.Want(t, name, status, http.StatusBadRequest, body, []string{`role="alert"`, "a table", `value="200"`}, never)
		if len(s.commands) > 0 {
			t.Errorf("%s: commanded %v", name, s.commands)
		}
	}
}

func TestReviseAndChange(t *testing.T) {
	s := counter()
	v := serve(t, s)
	status, body := v.Get("/commissions/o1/revise")
	pagetest.Want(t, "the form has the newest version", status, http.StatusOK, body, []string{`value="8 - 9 - 12"`, `value="Varnish"`, `value="10 %"`, `value="50 %"`, `value="2026-03-29"`, `name="valid" value=""`, `value="&#34;4&#34;"`, `value="1" checked`}, never)
	form := lineForm()
	form.Set("reason", "less gloss")
	form.Set("etag", `"4"`)
	v.Send("/commissions/o1/revise", form)
	if r := last[*intakev1.ReviseEstimateRequest](t, s); r.Reason != "less gloss" || r.Etag != `"4"` || len(r.Draft.Lines) != 3 || r.Commission != "commissions/o1" {
		t.Errorf("revised by %v", r)
	}
	form.Set("reason", "worm")
	v.Send("/commissions/o1/change", form)
	if r := last[*intakev1.AddChangeOrderRequest](t, s); r.Reason != "worm" || len(r.Lines) != 3 || r.Promised.GetMonth() != 5 {
		t.Errorf("changed by %v", r)
	}
	s.fails = fault.New(fault.Precondition, "TOO_MANY_VERSIONS", "No more are kept.")
	status, body = v.Send("/commissions/o1/revise", form)
	pagetest.Want(t, "too many", status, http.StatusUnprocessableEntity, body, []string{"No more are kept.", `value="Varnish"`}, nil)
}

// What would be owed is seen before anything is cancelled.
func TestCancel(t *testing.T) {
	s := counter().approved()
	v := serve(t, s)
	status, body := v.Get("/commissions/o1/cancel?paid=427,34")
	pagetest.Want(t, "what would be owed", status, http.StatusOK, body, []string{"4 h 10 min at 65.00 an hour", "270.83", "cost 30.00, and 35 %", "40.50", "20 % of what is left of 854.67", "103.14", "442.10", "427.34", "Still to be paid", "14.76", `name="paid" value="427,34"`, `value="&#34;4&#34;"`}, never)
	if r := s.asked.(*intakev1.PreviewCancellationRequest); !proto.Equal(r.DepositPaid, usd(427_34)) || len(s.commands) > 0 {
		t.Errorf("asked %v, commanded %v", r, s.commands)
	}
	status, to := v.Send("/commissions/o1/cancel", url.Values{"paid": {"427,34"}, "reason": {"moving"}, "etag": {`"4"`}})
	pagetest.Want(t, "cancelled", status, http.StatusSeeOther, to, []string{"/commissions/o1"}, nil)
	if r := last[*intakev1.CancelCommissionRequest](t, s); r.Reason != "moving" || r.Etag != `"4"` || !proto.Equal(r.DepositPaid, usd(427_34)) {
		t.Errorf("cancelled by %v", r)
	}
	s.preview = fault.New(fault.Precondition, "WORK_STILL_CLOCKED", "Nell is still on the clock.")
	status, body = v.Get("/commissions/o1/cancel")
	pagetest.Want(t, "still clocked", status, http.StatusUnprocessableEntity, body, []string{"Nell is still on the clock."}, []string{`method="post" action="/commissions/o1/cancel"`})
}

func TestLetters(t *testing.T) {
	s := counter().approved()
	s.listing = &salesv1.Listing{Sales: []*salesv1.Sale{{Name: "sales/00000000-0000-0000-0000-00000ab12cd3", Price: usd(600_00), SaleTime: timestamppb.New(wednesday), Paid: usd(600_00)}}}
	s.order.BeginTime = timestamppb.New(wednesday.AddDate(0, 0, -5))
	v := serve(t, s)
	for _, path := range []string{"estimate.pdf", "estimate.pdf?version=1&hours=1&lang=es&paper=letter", "changes/1/pdf", "invoice.pdf?paid=100"} {
		status, body := v.Get("/commissions/o1/" + path)
		if status != http.StatusOK || !strings.HasPrefix(body, "%PDF-") {
			t.Errorf("%s: %d, %.200q", path, status, body)
		}
	}
	for path, want := range map[string]int{"estimate.pdf?version=9": http.StatusNotFound, "estimate.pdf?version=x": http.StatusNotFound, "changes/2/pdf": http.StatusNotFound, "estimate.pdf?lang=fr": http.StatusBadRequest, "invoice.pdf?paid=much": http.StatusBadRequest, "invoice.pdf?paper=a3": http.StatusBadRequest} {
		if status, _ := v.Get("/commissions/o1/" + path); status != want {
			t.Errorf("%s: %d, want %d", path, status, want)
		}
	}
	s.head = &intakev1.Letterhead{}
	status, body := v.Get("/commissions/o1/estimate.pdf")
	pagetest.Want(t, "no letterhead", status, http.StatusUnprocessableEntity, body, []string{"Nobody said yet what stands at the head"}, nil)
}
