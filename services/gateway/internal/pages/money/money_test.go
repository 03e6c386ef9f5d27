package money

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

const owner, lead = typev1.Role_ROLE_OWNER, typev1.Role_ROLE_LEAD

// sales is a shop that has earned and lost.
func sales() *shop {
	return &shop{role: owner, earnings: []*costingv1.Earning{
		{Key: "table", Title: "table", Pieces: 2, Provisional: 1, ProfitPerLabourHour: eur(-7, -25), Profit: eur(-14, -50), Time: hours(2)},
		{Key: "<script>alert(1)</script>", Title: "<script>alert(1)</script>", Pieces: 1, Time: hours(0)},
		{Key: "dresser", Title: "dresser", Pieces: 4, ProfitPerLabourHour: eur(31, 0), GivenUp: 1, Lost: eur(80, 0), Time: hours(10)},
	}}
}

func TestMoney_Earned(t *testing.T) {
	s := sales()
	v := serve(t, s)
	status, body := v.get("/money?from=2026-03-01&to=2026-03-18")
	want(t, "what was earned", status, 200, body, []string{"21.50 EUR for each hour", "on 7 sold pieces and 12:00 hours", "dresser, 4 pieces", "−7.25", "1 not final", "1 given up: 80.00 lost",
		`class="below" fill="url(#below-earned)"`, "&lt;script&gt;", `href="/money?by=month&amp;from=2026-03-01&amp;to=2026-03-18"`, `/v1/earnings?by=BY_KIND&amp;format=csv&amp;fromDate.day=1&amp;`}, []string{"<script>alert"})
	if strings.Index(body, "dresser, 4") > strings.Index(body, "table, 2") {
		t.Error("the best kind does not come first")
	}
	if s.asked.By != costingv1.ListEarningsRequest_BY_KIND || s.asked.FromDate.GetDay() != 1 || s.asked.ToDate.GetDay() != 18 {
		t.Errorf("asked: %v", s.asked)
	}
	if _, part := v.get("/money/part/earned?by=kind&from=2026-03-01&to=2026-03-18"); !strings.Contains(body, strings.TrimSpace(part)) {
		t.Error("the part is not what the page has")
	}
	if v.get("/money?by=month"); s.asked.By != costingv1.ListEarningsRequest_BY_MONTH {
		t.Errorf("by month: asked %v", s.asked)
	}
	status, body = v.get("/money?from=yesterday")
	want(t, "a day that is none", status, 400, body, []string{"“yesterday” is not a day"}, nil)
}

func TestMoney_OnlyForOwners(t *testing.T) {
	for pattern := range Page().Routes {
		method, path, _ := strings.Cut(pattern, " ")
		if method != http.MethodGet {
			continue
		}
		s := sales()
		s.role = lead
		status, body := serve(t, s).get(strings.NewReplacer("{month}", "2026-03").Replace(path))
		want(t, path+" for a lead", status, 403, body, []string{"for the owner"}, []string{"dresser", "<table"})
	}
}

func TestMoney_Away(t *testing.T) {
	s := sales()
	s.away = fault.New(fault.Unavailable, "AWAY", "Away.")
	status, body := serve(t, s).get("/money")
	want(t, "while costing is away", status, 200, body, []string{"cannot be read at the moment"}, []string{"<table"})
	s.away = fault.New(fault.Internal, "INTERNAL", "secret detail")
	status, body = serve(t, s).get("/money")
	want(t, "while costing is broken", status, 500, body, []string{"wrong in the program"}, []string{"secret detail"})
	status, body = serve(t, sales()).get("/money/work")
	want(t, "without rework", status, 200, body, []string{"cannot be read at the moment", "No stage with a planned time"}, nil)
}

// By finish the figures are the sums of the pieces that got it.
func TestMoney_PlanByFinish(t *testing.T) {
	s := sales()
	s.plans = []*costingv1.PlanActual{
		{Key: "1", Piece: "pieces/1", Tag: 1, Stages: 2, PlannedTime: hours(2), ActualTime: hours(3), EfficiencyVariance: eur(20, 50), PriceVariance: eur(-1, 0), LabourVariance: eur(19, 50)},
		{Key: "2", Piece: "pieces/2", Tag: 2, StagesLeftOut: 1, TimeLeftOut: hours(1)},
		{Key: "3", Piece: "pieces/3", Tag: 3, Stages: 1, PlannedTime: hours(1), ActualTime: hours(0.5), EfficiencyVariance: eur(-10, -25), PriceVariance: eur(2, 0), LabourVariance: eur(-8, -25)},
		{Key: "4", Piece: "pieces/4", Tag: 4, Stages: 1, LabourVariance: eur(99, 0)},
	}
	s.costs = []*costingv1.PieceCost{{Piece: "pieces/1", Finish: "oiled"}, {Piece: "pieces/2", Finish: "oiled"}, {Piece: "pieces/3", Finish: "oiled"}, {Piece: "pieces/4"}}
	status, body := serve(t, s).get("/money/work?by=finish")
	row := `oiled <span class="fine">and 1 not measured (1:00 hours)</span></th><td class="n">3</td><td class="n">3:00</td><td class="n">3:30</td><td class="n">0:00</td><td class="n">–</td><td class="n">–</td><td class="n">10.25</td><td class="n">1.00</td><td class="n">11.25</td>`
	want(t, "the plan by finish", status, 200, body, []string{row, "nobody said", "99.00"}, nil)
}

// payday is a week that is over.
func payday() *shop {
	return &shop{role: owner, week: &costingv1.PayrollWeek{Week: day(2026, 3, 9), Lines: []*costingv1.PayrollWeek_Line{
		{Person: "people/2", PersonName: "=Bao", LabourTime: hours(30.5), Overtime: hours(2), Time: hours(31), Pay: eur(620, 0), Burden: eur(50, 5)},
		{Person: "people/3", PersonName: "Esi", LabourTime: hours(8), Time: hours(8), Pay: eur(160, 0), Notes: []string{"no pay rate on Monday"}},
	}}}
}

func TestMoney_PayrollWeek(t *testing.T) {
	v := serve(t, payday())
	status, body := v.get("/money/pay?week=2026-03-11")
	want(t, "the week", status, 200, body, []string{"9 Mar 2026 to 15 Mar 2026", "over, not locked", "30:30", "38:30", "Overtime", "780.00", "50.05", "no pay rate on Monday",
		`href="/money/pay/lock?week=2026-03-09"`, "week=2026-03-02", "week=2026-03-16"}, []string{"Rounding", "Premium"})
	status, body = v.get("/money/pay.csv?week=2026-03-11")
	want(t, "its table", status, 200, body, []string{"2026-03-09,people/2,'=Bao,30.5000,0.0000", "620.00,50.05,EUR,no\n", `"payroll-2026-03-09.csv"`}, nil)
	s := payday()
	s.week.Week, s.week.LockTime = day(2026, 3, 16), timestamppb.New(wednesday)
	status, body = serve(t, s).get("/money/pay")
	want(t, "a locked week", status, 200, body, []string{"locked"}, []string{"/money/pay/lock"})
	s.week.LockTime = nil
	status, body = serve(t, s).get("/money/pay")
	want(t, "the week that runs", status, 200, body, []string{"not over yet"}, []string{"/money/pay/lock"})
}

func TestMoney_Lock(t *testing.T) {
	s := payday()
	v := serve(t, s)
	status, body := v.get("/money/pay/lock?week=2026-03-09")
	want(t, "the second thought", status, 200, body, []string{"cannot be unlocked", "620.00"}, nil)
	if s.locked != nil {
		t.Fatal("looking at it locks it")
	}
	status, body = v.send("/money/pay/lock?week=2026-03-09", "/money/pay/lock", url.Values{"week": {"2026-03-09"}, "request_id": {"r1"}})
	if want(t, "locked", status, 303, body, []string{"/money/pay?week=2026-03-09"}, nil); s.locked.GetDate().GetDay() != 9 || s.locked.RequestId != "r1" {
		t.Errorf("locked: %v", s.locked)
	}
	s.refused = fault.New(fault.Precondition, "CLOCKS_RUNNING", "Bao is still on the clock.")
	status, body = v.send("/money/pay/lock?week=2026-03-09", "/money/pay/lock", url.Values{"week": {"2026-03-09"}})
	want(t, "refused", status, 422, body, []string{"Bao is still on the clock.", "cannot be unlocked"}, nil)
	s.locked = nil
	if status, _, _ := v.do(http.MethodPost, "/money/pay/lock", url.Values{"week": {"2026-03-09"}, "form": {"of another session"}}); status != 403 || s.locked != nil {
		t.Errorf("a stale form: %d, locked %v", status, s.locked)
	}
}

func TestMoney_Months(t *testing.T) {
	closed := timestamppb.New(wednesday.Add(-24 * time.Hour))
	s := &shop{role: owner, months: []*costingv1.Month{{FirstDate: day(2025, 12, 1), CloseTime: closed}, {FirstDate: day(2026, 1, 1), CloseTime: closed},
		{FirstDate: day(2026, 2, 1), Profit: eur(-5, 0)}, {FirstDate: day(2026, 3, 1)}}}
	v := serve(t, s)
	status, body := v.get("/money/months")
	want(t, "the months", status, 200, body, []string{`href="/money/months/2026-02/close"`, "Close Feb 2026", "Dec 2025", "−5.00"}, []string{"2026-03/close", "2026-01/close"})
	s.refused = fault.New(fault.Precondition, "EARLIER_MONTHS_TAKEN_IN", "That takes in November.")
	page := "/money/months/2026-02/close"
	status, body = v.get(page)
	want(t, "the second thought", status, 200, body, []string{"What closing means"}, []string{`name="earlier"`, "checked"})
	status, body = v.send(page, page, url.Values{"settlement": {"prorated"}, "indirect": {"1"}})
	want(t, "asked about earlier months", status, 422, body, []string{"That takes in November.", `name="earlier"`, `value="prorated" checked`}, nil)
	s.refused = nil
	status, body = v.send(page, page, url.Values{"settlement": {"sold"}, "earlier": {"1"}})
	if want(t, "closed", status, 303, body, []string{"/money/months/2026-02"}, nil); s.closed.Settlement != costingv1.Month_SETTLEMENT_COST_OF_GOODS_SOLD || !s.closed.WithEarlier || s.closed.WithIndirectLabour || s.closed.Month.Month != 2 {
		t.Errorf("closed: %v", s.closed)
	}
	for path, says := range map[string]string{"/money/months/march": "no such month", "/money/months/2027-01": "has not begun"} {
		status, body = v.get(path)
		want(t, path, status, 404, body, []string{says}, nil)
	}
}

// A month that follows an open one cannot be closed before it, so nobody is offered to; nor one that runs.
func TestMoney_MonthsToClose(t *testing.T) {
	two := &shop{role: owner, months: []*costingv1.Month{{FirstDate: day(2026, 1, 1)}, {FirstDate: day(2026, 2, 1)}}}
	_, both := serve(t, two).get("/money/months")
	want(t, "two that are over", 200, 200, both, []string{"/money/months/2026-01/close"}, []string{"2026-02/close"})
	s := &shop{role: owner, months: []*costingv1.Month{{FirstDate: day(2026, 3, 1)}}}
	status, body := serve(t, s).get("/money/months")
	want(t, "the month that runs", status, 200, body, []string{"Mar 2026"}, []string{"/close"})
}

func TestMoney_Books(t *testing.T) {
	wrongly := make([]string, 100)
	for i := range wrongly {
		wrongly[i] = "line <b>" + strconv.Itoa(i) + "</b> differs"
	}
	s := &shop{role: owner, journal: make([]*costingv1.ListJournalResponse, 9), letters: []*costingv1.DeadLetter{{Name: "deadLetters/5", Producer: "sales", Error: "no such piece", Tries: 3}},
		found: &costingv1.VerifyResponse{Events: 12, LedgerLines: 40, Differences: wrongly, DifferenceCount: 130, RefusedCount: 1}}
	v := serve(t, s)
	status, body := v.get("/money/books")
	want(t, "the books", status, 200, body, []string{"something is missing", "no such piece", "3 tries"}, []string{"the books are right", "not right"})
	status, body = v.send("/money/books", "/money/books/verify", url.Values{})
	want(t, "compared", status, 200, body, []string{"the books are not right", "Events recomputed: 12; lines compared: 40; differences: 130.", "line &lt;b&gt;99", "and 30 more", "Could not be booked: 1"}, []string{"the books are right"})
	s.found = &costingv1.VerifyResponse{Clean: true}
	status, body = v.send("/money/books", "/money/books/verify", url.Values{})
	want(t, "compared anew", status, 200, body, []string{"the books are right"}, []string{"not right"})
	if status, body = v.send("/money/books", "/money/books/retry", url.Values{"letter": {"deadLetters/5"}}); status != 303 || s.retried != "deadLetters/5" {
		t.Errorf("booked again: %d, %q, %s", status, s.retried, body)
	}
	s.refused = fault.New(fault.Precondition, "STILL_WRONG", "It still cannot be booked.")
	status, body = v.send("/money/books", "/money/books/retry", url.Values{"letter": {"deadLetters/5"}})
	want(t, "refused again", status, 422, body, []string{"It still cannot be booked."}, nil)
}

func entry(id, description string) *costingv1.JournalEntry {
	return &costingv1.JournalEntry{Id: id, Date: day(2026, 3, 2), Description: description, RecordTime: timestamppb.New(wednesday), CountsOnDate: day(2026, 3, 2), Lines: []*costingv1.JournalEntry_Line{
		{Account: "cash", AccountTitle: "Cash", Debit: eur(5, 5)}, {AccountNumber: "4000", AccountTitle: "Sales", Credit: eur(5, 5), Tag: 412, PersonName: "Bao"}}}
}

func TestMoney_Journal(t *testing.T) {
	s := &shop{role: owner, journal: []*costingv1.ListJournalResponse{
		{Entries: []*costingv1.JournalEntry{entry("e1", "=HYPERLINK(1)")}, NextPageToken: "2", Position: 77}, {Entries: []*costingv1.JournalEntry{entry("e2", "sold")}, Position: 77}}}
	status, body := serve(t, s).get("/money/journal.csv?after=12&from=2026-03-01")
	want(t, "the journal", status, 200, body, []string{"date,entry,account,account_title,debit", "2026-03-02,e1,cash,Cash,5.05,,'=HYPERLINK(1),,,,EUR,2026-03-18T11:00:00Z,2026-03-02\n",
		"2026-03-02,e2,4000,Sales,,5.05,sold,412,Bao,", `"journal-to-77.csv"`}, nil)
	if len(s.read) != 2 || s.read[0].AfterPosition != 12 || s.read[0].FromDate.GetDay() != 1 || s.read[1].PageToken != "2" {
		t.Errorf("read: %v", s.read)
	}
	status, body = serve(t, &shop{role: owner}).get("/money/journal.csv")
	want(t, "refused from the beginning", status, 409, body, []string{"The journal has changed."}, []string{"date,entry"})
	status, body = serve(t, &shop{role: owner}).get("/money/journal.csv?after=-3")
	want(t, "a position that is none", status, 400, body, []string{"“-3”"}, nil)
}

// A journal that breaks on its way must not look like a whole one.
func TestMoney_JournalBreaksOff(t *testing.T) {
	s := &shop{role: owner, journal: []*costingv1.ListJournalResponse{{Entries: []*costingv1.JournalEntry{entry("e1", "sold")}, NextPageToken: "2", Position: 77}}}
	if status, body, err := serve(t, s).do(http.MethodGet, "/money/journal.csv", nil); err == nil {
		t.Errorf("half a journal is taken for a whole one: %d, %s", status, body)
	}
}
