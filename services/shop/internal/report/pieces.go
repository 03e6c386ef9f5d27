package report

import (
	"fmt"
	"io"
	"slices"
	"time"

	"tackfree/pkg/money"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Pieces prints the cost of pieces, with a column of hours for each worker, and the sums
// of the columns.
func Pieces(w io.Writer, pieces []*costingv1.PieceCost, c money.Currency) error {
	workers := workersOf(pieces)
	t := &Table{Headings: headings(workers)}
	all, byName := sheet{}, map[string]time.Duration{}
	for _, p := range pieces {
		all.add(p, c)
		worked := hoursByWorker(p)
		for name, d := range worked {
			byName[name] += d
		}
		t.Add(pieceRow(p, workers, worked)...)
	}
	t.Add()
	t.Add(sumRow(&all, c, workers, byName)...)
	if err := t.Print(w); err != nil {
		return err
	}
	return notes(w, pieces)
}

func headings(workers []string) []string {
	all := []string{" tag", "piece", "state"}
	for _, name := range workers {
		all = append(all, " "+name)
	}
	return append(all, " hours", " bought", " labour", " material", " rework", " fees", " revenue", " profit", " per hour")
}

func pieceRow(p *costingv1.PieceCost, workers []string, worked map[string]time.Duration) []string {
	cells := []string{fmt.Sprint(p.Tag), Clip(p.Title, 26), StateOf(p)}
	for _, name := range workers {
		cells = append(cells, hours(worked[name]))
	}
	s := p.GetSums()
	profit, perHour := ProfitOf(p)
	return append(cells, hours(workedOn(p)), Money(s.GetAcquisition()), Money(s.GetLabour()), Money(s.GetMaterial()),
		Money(s.GetRework()), Money(s.GetFees()), Money(s.GetRevenue()), profit, perHour)
}

func sumRow(s *sheet, c money.Currency, workers []string, worked map[string]time.Duration) []string {
	cells := []string{"", "all pieces", ""}
	for _, name := range workers {
		cells = append(cells, hours(worked[name]))
	}
	return append(cells, hours(s.worked), c.Format(s.acquisition), c.Format(s.labour), c.Format(s.material),
		c.Format(s.rework), c.Format(s.fees), c.Format(s.revenue), c.Format(s.profit), s.perHour(c))
}

// notes explain what is in the table, if it is there.
func notes(w io.Writer, pieces []*costingv1.PieceCost) error {
	inHand, open := false, false
	for _, p := range pieces {
		inHand = inHand || !done(p)
		open = open || p.Provisional
	}
	var err error
	if inHand {
		_, err = fmt.Fprintf(w, "%s  in hand, so nothing is earned or lost yet; the profit of all pieces leaves it out.\n", none)
	}
	if open && err == nil {
		_, err = fmt.Fprintln(w, "?  not final; `shop cost show TAG` says what is missing.")
	}
	return err
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
