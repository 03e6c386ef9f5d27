package report

import (
	"fmt"
	"io"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// InHand prints what is unfinished or unsold, and what stands in it.
func InHand(w io.Writer, pieces []*costingv1.PieceInHand, r *costingv1.ListWorkInProcessResponse, zone *time.Location, c money.Currency) error {
	if err := inHandTable(pieces, zone).Print(w); err != nil {
		return err
	}
	fmt.Fprintf(w, "\n%d unfinished, %d finished.\n\n", r.Unfinished, r.Finished)
	return Accounts(w, withSum(r.Accounts, c), c)
}

// withSum adds a last balance, the sum of all.
func withSum(balances []*costingv1.AccountBalance, c money.Currency) []*costingv1.AccountBalance {
	var sum money.Amount
	for _, b := range balances {
		a, _ := wire.FromMoney(b.Balance, c.Digits)
		sum += a
	}
	return append(balances, &costingv1.AccountBalance{Account: "all in hand", Balance: wire.Shop{Currency: c}.ToMoney(sum)})
}

func inHandTable(pieces []*costingv1.PieceInHand, zone *time.Location) *Table {
	t := &Table{Headings: []string{" tag", "piece", "state", "here since", " days", " idle", " stages", " hours", " bought", " labour", " material", " rework", " other", " cost"}}
	for _, p := range pieces {
		s := p.GetSums()
		t.Add(number(p.Tag), Clip(p.Title, 26), handState(p), dayOf(p.TakenInTime, zone), number(p.DaysHere), number(p.DaysIdle), fmt.Sprintf("%d/%d", p.StagesDone, p.Stages),
			hours(s.GetLabourTime().AsDuration()+s.GetReworkTime().AsDuration()), Money(s.GetAcquisition()), Money(s.GetLabour()), Money(s.GetMaterial()), Money(s.GetRework()),
			otherOf(s), Money(s.GetCost()))
	}
	return t
}

// otherOf is what was spent in lines that have no column: premium, burden, overhead, outside work.
func otherOf(s *costingv1.CostSums) string {
	c, err := money.CurrencyOf(s.GetCost().GetCurrencyCode())
	if err != nil {
		return none
	}
	var sum money.Amount
	for _, u := range unusual {
		a, _ := wire.FromMoney(u.of(s), c.Digits)
		sum += a
	}
	if sum == 0 {
		return none
	}
	return c.Format(sum)
}

// handState is how far a piece in hand is, with a question mark while its cost is not final.
func handState(p *costingv1.PieceInHand) string {
	state := "in process"
	switch {
	case p.FinishTime != nil && p.Listed:
		state = "finished, listed"
	case p.FinishTime != nil:
		state = "finished"
	case p.Listed:
		state = "listed"
	}
	if p.FinishTime != nil {
		state += fmt.Sprintf(" %d d", p.DaysFinished)
	}
	if p.Provisional {
		state += "?"
	}
	return state
}

func dayOf(at *timestamppb.Timestamp, zone *time.Location) string {
	if at == nil {
		return none
	}
	return at.AsTime().In(zone).Format(time.DateOnly)
}

// InHandCSV writes the same for a spreadsheet.
func InHandCSV(w io.Writer, pieces []*costingv1.PieceInHand) error {
	c := NewCSV(w, "tag", "title", "commission", "listed", "taken_in", "days_here", "last_work", "days_idle", "stages_done", "stages", "finished", "days_finished",
		"hours", "acquisition", "labour", "premium", "burden", "overhead", "material", "outside", "rework", "cost", "provisional")
	for _, p := range pieces {
		s := p.GetSums()
		c.Row(number(p.Tag), Free(p.Title), fmt.Sprint(p.Commission), fmt.Sprint(p.Listed), InstantField(p.TakenInTime), number(p.DaysHere), InstantField(p.LastWorkTime), number(p.DaysIdle),
			number(p.StagesDone), number(p.Stages), InstantField(p.FinishTime), number(p.DaysFinished), hoursField(s.GetLabourTime().AsDuration()+s.GetReworkTime().AsDuration()),
			Plain(s.GetAcquisition()), Plain(s.GetLabour()), Plain(s.GetPremium()), Plain(s.GetBurden()), Plain(s.GetOverhead()), Plain(s.GetMaterial()), Plain(s.GetOutside()), Plain(s.GetRework()),
			Plain(s.GetCost()), fmt.Sprint(p.Provisional))
	}
	return c.Flush()
}

// paidElsewhere says why what is owed only grows.
const paidElsewhere = "Payments are booked in the shop's own general ledger and not here, so what is owed is all that was booked since the beginning."

// owedSoFar prints apart what was booked as owed.
func owedSoFar(w io.Writer, owed []*costingv1.GetCashTiedUpResponse_Account) error {
	if len(owed) == 0 {
		return nil
	}
	fmt.Fprintln(w)
	t := &Table{Headings: []string{"booked as owed since the beginning", " amount"}}
	for _, a := range owed {
		t.Add(a.Title, Money(a.Amount))
	}
	if err := t.Print(w); err != nil {
		return err
	}
	_, err := fmt.Fprintln(w, paidElsewhere)
	return err
}

// TiedUp prints what of the shop's money is in things, what was booked as owed, and the pieces that hold most.
func TiedUp(w io.Writer, r *costingv1.GetCashTiedUpResponse, zone *time.Location) error {
	t := &Table{Headings: []string{"tied up", " amount"}}
	for _, a := range r.Tied {
		t.Add(a.Title, Money(a.Amount))
	}
	t.Add()
	t.Add("all that is tied up", Money(r.Total))
	if err := t.Print(w); err != nil {
		return err
	}
	if err := owedSoFar(w, r.Owed); err != nil || len(r.Pieces) == 0 {
		return err
	}
	fmt.Fprintln(w, "\nThe pieces that hold most:")
	return inHandTable(r.Pieces, zone).Print(w)
}

// Standing prints how the whole shop stands, on three lines.
func Standing(w io.Writer, r *costingv1.WatchShopResponse, c money.Currency) error {
	d, day := r.GetToday(), ""
	if date := d.GetDate(); date != nil {
		day = fmt.Sprintf("%04d-%02d-%02d", date.Year, date.Month, date.Day)
	}
	open := ""
	if r.Provisional > 0 {
		open = fmt.Sprintf("  not final %d", r.Provisional)
	}
	var hand money.Amount
	for _, b := range r.Accounts {
		switch b.Account {
		case "work_in_process", "rework", "finished_goods":
			a, _ := wire.FromMoney(b.Balance, c.Digits)
			hand += a
		}
	}
	s := r.GetTotal()
	_, err := fmt.Fprintf(w, "%s  today: revenue %s  wages %s  material %s\n  pieces: in hand %d  listed %d  sold %d  scrapped %d%s\n  so far: revenue %s  rework %s (%s)  in hand %s\n", day,
		Money(d.GetRevenue()), Money(d.GetLabour()), Money(d.GetMaterial()), r.InHand, r.Listed, r.Sold, r.Scrapped, open, Money(s.GetRevenue()), Money(s.GetRework()), Hours(s.GetReworkTime()), c.Format(hand))
	return err
}
