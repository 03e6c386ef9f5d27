package intake_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/intake/internal/intake"
)

var yes = intake.ClientAnswer{By: "Ana Ruiz", How: intake.ByPhone, At: today.Add(16 * time.Hour), Actor: "Rosa"}

var no = intake.ClientAnswer{By: "Ana Ruiz", How: intake.InWriting, At: today.Add(16 * time.Hour), Reason: "too dear"}

// table is 10 h at 65.00 and 100.00 of material with 35 %: 785.00 before tax of 8.875 %, 69.66875, so 854.67.
func table() intake.EstimateDraft {
	return intake.EstimateDraft{Lines: []intake.EstimateLine{labour("8", "10", "14", 65_00), material(100_00, "35")}, Promised: today.AddDate(0, 1, 0)}
}

// every are commissions in each state, and what each was last told.
func every(t *testing.T, terms intake.CommissionTerms) map[intake.CommissionState]intake.Commission {
	t.Helper()
	do := func(c intake.Commission, err error) intake.Commission {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	estimated := begun(t, table(), terms)
	approved, declined, cancelled, finished := begun(t, table(), terms), begun(t, table(), terms), begun(t, table(), terms), begun(t, table(), terms)
	finished = do(finished, finished.Approve(1, yes, today))
	return map[intake.CommissionState]intake.Commission{
		intake.Estimated: estimated, intake.Approved: do(approved, approved.Approve(1, yes, today)),
		intake.Declined: do(declined, declined.Decline(1, no)), intake.Cancelled: do(cancelled, cancelled.Cancel(intake.Done{}, 0, terms, writing())),
		intake.Finished: do(finished, finished.End(true, writing())),
	}
}

// What each command does in each state, and that one that is refused changes nothing.
func TestCommission_EveryCommandInEveryState(t *testing.T) {
	piece := intake.Piece{ID: id.New(), Tag: 7, Client: "Ana Ruiz", State: intake.InHand}
	commands := map[string]func(*intake.Commission) error{
		"Revise":  func(c *intake.Commission) error { return c.Revise(table(), intake.Client{}, house(), writing()) },
		"Bring":   func(c *intake.Commission) error { return c.Bring(piece) },
		"Approve": func(c *intake.Commission) error { return c.Approve(1, yes, today) },
		"Decline": func(c *intake.Commission) error { return c.Decline(1, no) },
		"Change": func(c *intake.Commission) error {
			return c.AddChangeOrder([]intake.EstimateLine{fixed(10_00, false)}, time.Time{}, house(), writing())
		},
		"Cancel": func(c *intake.Commission) error { return c.Cancel(intake.Done{}, 0, house(), writing()) },
		"End":    func(c *intake.Commission) error { return c.End(true, writing()) },
	}
	for command, want := range map[string]map[intake.CommissionState]string{
		"Revise":  {intake.Approved: "ESTIMATE_APPROVED", intake.Cancelled: "COMMISSION_CANCELLED"},
		"Bring":   {intake.Cancelled: "COMMISSION_CANCELLED"},
		"Approve": {intake.Approved: "ESTIMATE_APPROVED", intake.Declined: "ESTIMATE_DECLINED", intake.Cancelled: "COMMISSION_CANCELLED"},
		"Decline": {intake.Approved: "ESTIMATE_APPROVED", intake.Declined: "ESTIMATE_DECLINED", intake.Cancelled: "COMMISSION_CANCELLED"},
		"Change":  {intake.Estimated: "ESTIMATE_NOT_APPROVED", intake.Declined: "ESTIMATE_NOT_APPROVED", intake.Cancelled: "COMMISSION_CANCELLED"},
		"Cancel":  {intake.Cancelled: "COMMISSION_CANCELLED"},
		"End":     {intake.Estimated: "ESTIMATE_NOT_APPROVED", intake.Declined: "ESTIMATE_NOT_APPROVED", intake.Cancelled: "COMMISSION_CANCELLED"},
	} {
		want[intake.Finished] = "COMMISSION_FINISHED"
		for state, c := range every(t, house()) {
			before := c.Version
			err := commands[command](&c)
			if fault.Reason(err) != want[state] || (err == nil) != (c.Version == before+1) {
				t.Errorf("%s of one that is %s = %v, version %d after %d, want %q", command, state, err, c.Version, before, want[state])
			}
		}
	}
}

// The newest version alone can be approved, on its last day still, and not before it was written.
func TestCommission_Approve(t *testing.T) {
	c := begun(t, table(), house())
	if err := c.Revise(table(), intake.Client{}, house(), intake.Writing{At: writing().At, Day: today, Reason: "less gloss"}); err != nil {
		t.Fatal(err)
	}
	last := today.AddDate(0, 0, 30)
	early := yes
	early.At = writing().At.Add(-time.Minute)
	for _, try := range []struct {
		version int32
		answer  intake.ClientAnswer
		day     time.Time
		reason  string
	}{{1, yes, today, "VERSION_SUPERSEDED"}, {3, yes, today, "VERSION_UNKNOWN"}, {2, yes, last.AddDate(0, 0, 1), "ESTIMATE_EXPIRED"}, {2, early, today, "ANSWER_BEFORE_ESTIMATE"}, {2, yes, last, ""}} {
		if err := c.Approve(try.version, try.answer, try.day); fault.Reason(err) != try.reason {
			t.Errorf("Approve(%d, %v) = %v, want %q", try.version, try.day, err, try.reason)
		}
	}
	if c.State != intake.Approved || c.Approved != 2 || *c.Last().Answer != yes || c.Estimates[0].Answer != nil || c.Last().Reason != "less gloss" {
		t.Errorf("approved = %+v", c)
	}
	again := begun(t, table(), house())
	if err := again.Decline(1, yes); !fault.Is(err, "DECLINED_WITHOUT_REASON") {
		t.Errorf("Decline for no reason = %v", err)
	}
	if err := again.Decline(1, no); err != nil || again.Revise(table(), intake.Client{}, house(), writing()) != nil || again.State != intake.Estimated || again.Last().Answer != nil {
		t.Errorf("after a decline = %+v, %v", again, err)
	}
}

// What is owed is the approved estimate and the approved change orders, each taxed by itself.
func TestCommission_ChangeOrders(t *testing.T) {
	c := every(t, house())[intake.Approved]
	later := today.AddDate(0, 2, 0)
	for _, o := range []struct {
		price    money.Amount
		promised time.Time
	}{{20_00, later}, {500_00, today.AddDate(0, 3, 0)}, {3_33, time.Time{}}} {
		if err := c.AddChangeOrder([]intake.EstimateLine{fixed(o.price, false)}, o.promised, house(), intake.Writing{At: writing().At, Day: today, Reason: "worm in a leg"}); err != nil {
			t.Fatal(err)
		}
	}
	if agreed, _ := c.Agreed(); agreed.Total != 854_67 || !c.Promised().Equal(today.AddDate(0, 1, 0)) {
		t.Errorf("with open change orders %+v is agreed on, for %v; want 85467 as approved", agreed, c.Promised())
	}
	for number, approve := range []bool{true, false, true} {
		if _, err := c.AnswerChangeOrder(int32(number)+1, approve, no); err != nil {
			t.Fatal(err)
		}
	}
	// 854.67 + 20.00 + 1.78 + 3.33 + 0.30
	if agreed, _ := c.Agreed(); agreed.Total != 880_08 || agreed.Total != agreed.Subtotal-agreed.Discount+agreed.Tax || !c.Promised().Equal(later) {
		t.Errorf("%+v is agreed on, for %v, want 88008 for %v", agreed, c.Promised(), later)
	}
	if price, tax, is := c.Invoice(); price != 808_33 || tax != 71_75 || !is {
		t.Errorf("Invoice = %d, %d, %t, want 80833, 7175", price, tax, is)
	}
	for _, try := range []struct {
		number int32
		answer intake.ClientAnswer
		reason string
	}{{1, yes, "CHANGE_ORDER_ANSWERED"}, {4, yes, "CHANGE_ORDER_NOT_FOUND"}} {
		if _, err := c.AnswerChangeOrder(try.number, true, try.answer); fault.Reason(err) != try.reason {
			t.Errorf("AnswerChangeOrder(%d) = %v, want %s", try.number, err, try.reason)
		}
	}
}

// Done: 4 h at 65.00 and 40.00 of material with 35 %, 314.00, with 27.8675 of tax 341.87; approved are 854.67.
func TestCommission_Cancel(t *testing.T) {
	half := intake.Done{Minutes: 240, Rework: 30, Material: 40_00}
	for name, c := range map[string]struct {
		rule          intake.CancelRule
		percent       string
		done          intake.Done
		deposit       money.Amount
		owed, tax     money.Amount
		pay, refunded money.Amount
	}{
		"Nothing":     {intake.OwesNothing, "20", half, 400_00, 0, 0, 0, 400_00},
		"WorkDone":    {intake.OwesWork, "20", half, 100_00, 341_87, 27_87, 241_87, 0},
		"NothingDone": {intake.OwesWork, "20", intake.Done{}, 427_34, 0, 0, 0, 427_34},
		// 854.67 − 341.87 = 512.80, of which 20 % are 102.56; of its tax, 69.67 − 27.87 = 41.80, 8.36.
		"WithPercent": {intake.OwesWorkPlus, "20", half, 0, 444_43, 36_23, 444_43, 0},
		"AllOfIt":     {intake.OwesWorkPlus, "100", half, 0, 854_67, 69_67, 854_67, 0},
		// 20 h alone are 1,300.00; never more than was approved.
		"Capped":     {intake.OwesWork, "0", intake.Done{Minutes: 1200}, 854_67, 854_67, 69_67, 0, 0},
		"CappedPlus": {intake.OwesWorkPlus, "50", intake.Done{Minutes: 1200}, 0, 854_67, 69_67, 854_67, 0},
	} {
		terms := house()
		terms.Rule, terms.CancelPercent = c.rule, dec(c.percent)
		o := every(t, terms)[intake.Approved]
		// Terms that were said later change nothing that was approved.
		if err := o.Cancel(c.done, c.deposit, house(), intake.Writing{At: today, Reason: "moving away"}); err != nil {
			t.Fatal(err)
		}
		s := o.Settlement
		if s.Owed != c.owed || s.OwedTax != c.tax || s.ToPay() != c.pay || s.ToRefund() != c.refunded {
			t.Errorf("%s: %+v is owed, to pay %d, to refund %d; want %+v", name, s, s.ToPay(), s.ToRefund(), c)
		}
		if s.Owed > s.Approved || s.Labour+s.Material+s.Tax != s.Worth || s.Rate != 65_00 && c.rule != intake.OwesNothing {
			t.Errorf("%s: the figures do not go together: %+v", name, s)
		}
		if price, tax, is := o.Invoice(); price+tax != c.owed || tax != c.tax || !is {
			t.Errorf("%s: Invoice = %d, %d, %t", name, price, tax, is)
		}
	}
	never := every(t, house())[intake.Estimated]
	if err := never.Cancel(half, 50_00, house(), writing()); err != nil || never.Settlement.Owed != 0 || never.Settlement.ToRefund() != 50_00 {
		t.Errorf("of what was never approved %+v is owed, %v", never.Settlement, err)
	}
	if _, _, is := never.Invoice(); is {
		t.Error("what was never approved is to be invoiced")
	}
}

// The rate and the markup that count are those that were approved, on average, and what was not taxed is not.
func TestCommission_CancelAtTheApprovedRates(t *testing.T) {
	d := intake.EstimateDraft{Lines: []intake.EstimateLine{labour("1", "1", "1", 90_00), labour("2", "2", "2", 60_00), material(10_00, "50"), material(30_00, "10")}}
	d.Lines[0].Untaxed, d.Lines[1].Untaxed = true, true
	c := begun(t, d, house())
	if err := c.Approve(1, yes, today); err != nil {
		t.Fatal(err)
	}
	if err := c.Cancel(intake.Done{Minutes: 50, Material: 20_00}, 0, house(), writing()); err != nil {
		t.Fatal(err)
	}
	// (90 + 120) / 3 = 70 an hour; (5 + 3) / 40 = 20 %; tax of 24.00 alone.
	if s := c.Settlement; s.Rate != 70_00 || s.Labour != 58_33 || s.Markup.String() != "20" || s.Material != 24_00 || s.Tax != 2_13 || s.Owed != 84_46 {
		t.Errorf("settlement = %+v", s)
	}
	lump := begun(t, intake.EstimateDraft{Lines: []intake.EstimateLine{fixed(300_00, false)}}, house())
	if err := lump.Approve(1, yes, today); err != nil {
		t.Fatal(err)
	}
	if err := lump.Cancel(intake.Done{Minutes: 60, Material: 10_00}, 0, house(), writing()); err != nil || lump.Settlement.Rate != 65_00 || lump.Settlement.Material != 13_50 {
		t.Errorf("where no line of labour was approved %+v, %v; want the terms' rate and markup", lump.Settlement, err)
	}
}

// The work that was done has its share of the discount, and as much of it is taxed as of what was approved.
func TestCommission_CancelAsApproved(t *testing.T) {
	half := dec("50")
	untaxed := labour("10", "10", "10", 65_00)
	untaxed.Untaxed = true
	for name, c := range map[string]struct {
		draft               intake.EstimateDraft
		discount, tax, owed money.Amount
	}{
		// 325.00 − 162.50, and 8.875 % of 162.50.
		"HalfOff": {intake.EstimateDraft{Lines: []intake.EstimateLine{labour("10", "10", "10", 65_00)}, Discount: intake.AmountOrPercent{Percent: &half}}, 162_50, 14_42, 176_92},
		// An eleventh of 325.00 is taxed: 29.55.
		"AnHourTaxed": {intake.EstimateDraft{Lines: []intake.EstimateLine{labour("1", "1", "1", 65_00), untaxed}}, 0, 2_62, 327_62},
	} {
		o := begun(t, c.draft, house())
		if err := o.Approve(1, yes, today); err != nil {
			t.Fatal(err)
		}
		if err := o.Cancel(intake.Done{Minutes: 300}, 0, house(), writing()); err != nil {
			t.Fatal(err)
		}
		if s := o.Settlement; s.Labour != 325_00 || s.Discount != c.discount || s.Tax != c.tax || s.Owed != c.owed {
			t.Errorf("%s: %+v, want %+v", name, s, c)
		}
	}
}

// Where nobody said what an hour is, work that was done is not worth nothing.
func TestCommission_CancelWithoutARate(t *testing.T) {
	terms := house()
	terms.Rate = 0
	c := begun(t, intake.EstimateDraft{Lines: []intake.EstimateLine{fixed(300_00, false)}}, terms)
	if err := c.Approve(1, yes, today); err != nil {
		t.Fatal(err)
	}
	version := c.Version
	if err := c.Cancel(intake.Done{Minutes: 600}, 0, terms, writing()); !fault.Is(err, "RATE_MISSING") || c.State != intake.Approved || c.Version != version {
		t.Errorf("Cancel = %v, and it is %s", err, c.State)
	}
	if err := c.Cancel(intake.Done{}, 0, terms, writing()); err != nil {
		t.Errorf("where nothing was worked: %v", err)
	}
}

func TestCommission_Pieces(t *testing.T) {
	ana, bo := intake.AddClient(intake.ClientDetails{Name: "Ana"}, today), intake.AddClient(intake.ClientDetails{Name: "Bo"}, today)
	theirs := intake.Piece{ID: id.New(), Tag: 4, Client: "Ana", ClientRecord: ana.ID, State: intake.InHand}
	for name, c := range map[string]struct {
		client intake.Client
		piece  intake.Piece
		reason string
	}{
		"Theirs":   {ana, theirs, ""},
		"ByName":   {bo, intake.Piece{ID: id.New(), Client: "somebody", State: intake.InHand}, ""},
		"Another":  {bo, theirs, "PIECE_OF_ANOTHER_CLIENT"},
		"Stock":    {ana, intake.Piece{ID: id.New(), Purchase: &intake.Purchase{}, State: intake.InHand}, "PIECE_NOT_A_CLIENTS"},
		"Scrapped": {ana, intake.Piece{ID: id.New(), Client: "Ana", State: intake.Scrapped}, "PIECE_SCRAPPED"},
	} {
		if _, err := intake.Begin(c.client, &c.piece, "", table(), house(), writing()); fault.Reason(err) != c.reason {
			t.Errorf("%s: Begin = %v, want %q", name, err, c.reason)
		}
	}
	gone := ana
	if err := gone.Retire(); err != nil || gone.Retire() == nil || gone.Change(intake.ClientDetails{}) == nil {
		t.Errorf("Retire = %v, and then it can be done again or changed", err)
	}
	if _, err := intake.Begin(gone, nil, "", table(), house(), writing()); !fault.Is(err, "CLIENT_RETIRED") {
		t.Errorf("Begin for one who is retired = %v", err)
	}
	c, err := intake.Begin(ana, &theirs, "", table(), house(), writing())
	if err != nil || c.Bring(theirs) == nil {
		t.Errorf("a second piece was brought, or %v", err)
	}
}
