package report

import (
	"fmt"
	"io"
	"slices"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Pieces prints the cost of pieces, with a column of hours for each worker, and the sums
// of the columns.
func Pieces(w io.Writer, pieces []*costingv1.PieceCost, total *costingv1.PieceCost) error {
	workers := workersOf(pieces)
	t := &Table{Headings: []string{" tag", "piece", "state"}}
	for _, name := range workers {
		t.Headings = append(t.Headings, " "+name)
	}
	t.Headings = append(t.Headings, " hours", " bought", " labour", " material", " rework", " fees", " revenue", " profit", " per hour")
	sums := map[string]time.Duration{}
	for _, p := range pieces {
		byWorker := hoursByWorker(p)
		for name, d := range byWorker {
			sums[name] += d
		}
		t.Add(row(p, fmt.Sprint(p.Tag), Clip(p.Title, 26), stateOf(p), workers, byWorker)...)
	}
	t.Add()
	t.Add(row(total, "", "all pieces", "", workers, sums)...)
	return t.Print(w)
}

func row(p *costingv1.PieceCost, tag, title, state string, workers []string, byWorker map[string]time.Duration) []string {
	cells := []string{tag, title, state}
	for _, name := range workers {
		cells = append(cells, hours(byWorker[name]))
	}
	perHour := Money(p.ProfitPerLabourHour)
	if inHand(p.State) {
		perHour = "–" // nothing has been earned yet
	}
	return append(cells, hours(p.LabourTime.AsDuration()+p.ReworkTime.AsDuration()), Money(p.Acquisition), Money(p.Labour), Money(p.Material),
		Money(p.Rework), Money(p.Fees), Money(p.Revenue), Money(p.Profit), perHour)
}

func inHand(s costingv1.PieceCost_State) bool {
	return s == costingv1.PieceCost_STATE_IN_HAND || s == costingv1.PieceCost_STATE_LISTED
}

func stateOf(p *costingv1.PieceCost) string {
	s := State(p.State.String())
	if p.Commission {
		s = map[string]string{"sold": "invoiced"}[s]
		if s == "" {
			s = "commission"
		}
	}
	if p.Provisional {
		s += "?"
	}
	return s
}

func hoursByWorker(p *costingv1.PieceCost) map[string]time.Duration {
	out := map[string]time.Duration{}
	for _, l := range p.LabourLines {
		out[l.PersonName] += l.Time.AsDuration()
	}
	return out
}

func workersOf(pieces []*costingv1.PieceCost) []string {
	var names []string
	for _, p := range pieces {
		for _, l := range p.LabourLines {
			if !slices.Contains(names, l.PersonName) {
				names = append(names, l.PersonName)
			}
		}
	}
	slices.Sort(names)
	return names
}

// Shop prints what the pieces come to by how they ended, and the accounts of the books.
func Shop(w io.Writer, pieces []*costingv1.PieceCost, accounts []*costingv1.AccountBalance) error {
	groups := []struct {
		text string
		in   func(costingv1.PieceCost_State) bool
	}{
		{"sold and invoiced", func(s costingv1.PieceCost_State) bool { return s == costingv1.PieceCost_STATE_SOLD }},
		{"in hand", inHand},
		{"scrapped", func(s costingv1.PieceCost_State) bool { return s == costingv1.PieceCost_STATE_SCRAPPED }},
	}
	t := &Table{Headings: []string{"pieces", " number", " hours", " cost", " profit", " profit per labour hour"}}
	for _, g := range groups {
		var in []*costingv1.PieceCost
		for _, p := range pieces {
			if g.in(p.State) {
				in = append(in, p)
			}
		}
		t.Add(group(g.text, in)...)
	}
	if err := t.Print(w); err != nil {
		return err
	}
	fmt.Fprintln(w)
	ledger := &Table{Headings: []string{"account", " debit", " credit"}}
	for _, a := range accounts {
		debit, credit := sides(a.Balance)
		ledger.Add(State(a.Account), debit, credit)
	}
	return ledger.Print(w)
}

func group(text string, pieces []*costingv1.PieceCost) []string {
	var worked time.Duration
	var cost, profit money.Amount
	var currency money.Currency
	for _, p := range pieces {
		worked += p.LabourTime.AsDuration() + p.ReworkTime.AsDuration()
		cost += minor(p.Cost, &currency)
		profit += minor(p.Profit, &currency)
	}
	perHour := "–"
	if worked > 0 && text != "in hand" { // nothing has been earned there yet
		perHour = currency.Format(money.MulDiv(profit, int64(time.Hour/time.Millisecond), worked.Milliseconds()))
	}
	return []string{text, fmt.Sprint(len(pieces)), hours(worked), currency.Format(cost), currency.Format(profit), perHour}
}

// minor reads an amount and notes its currency.
func minor(m *moneyv1.Money, c *money.Currency) money.Amount {
	if known, err := money.CurrencyOf(m.GetCurrencyCode()); err == nil {
		*c = known
	}
	a, _ := wire.FromMoney(m, c.Digits)
	return a
}

// sides puts a balance on the debit or the credit side.
func sides(m *moneyv1.Money) (debit, credit string) {
	var c money.Currency
	a := minor(m, &c)
	if a < 0 {
		return "", c.Format(-a)
	}
	return c.Format(a), ""
}
