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
// of the columns; what not every shop has, such as outside work, has a column only if there was some.
func Pieces(w io.Writer, pieces []*costingv1.PieceCost, c money.Currency) error {
	cols := columnsOf(pieces)
	t := &Table{Headings: cols.headings()}
	all, byName := sheet{}, map[string]time.Duration{}
	for _, p := range pieces {
		all.add(p, c)
		worked := hoursByWorker(p)
		for name, d := range worked {
			byName[name] += d
		}
		t.Add(cols.piece(p, worked)...)
	}
	t.Add()
	t.Add(cols.sum(&all, c, byName)...)
	if err := t.Print(w); err != nil {
		return err
	}
	return notes(w, pieces)
}

// columns are those that depend on the pieces.
type columns struct {
	workers []string
	unusual []cost
}

func columnsOf(pieces []*costingv1.PieceCost) columns {
	return columns{workers: workersOf(pieces), unusual: unusualIn(pieces)}
}

// row puts a row together: what it is of, the hours of each worker, and the amounts; that of what not
// every shop has is asked for where it has a column.
func (cols columns) row(of, byWorker, spent []string, amount func(cost) string, rest ...string) []string {
	row := slices.Concat(of, byWorker, spent)
	for _, u := range cols.unusual {
		row = append(row, amount(u))
	}
	return append(row, rest...)
}

func (cols columns) headings() []string {
	var names []string
	for _, name := range cols.workers {
		names = append(names, " "+name)
	}
	return cols.row([]string{" tag", "piece", "state"}, names, []string{" hours", " bought", " labour", " material"}, func(u cost) string { return " " + u.name },
		" rework", " fees", " revenue", " profit", " per hour")
}

func (cols columns) piece(p *costingv1.PieceCost, worked map[string]time.Duration) []string {
	s := p.GetSums()
	profit, perHour := ProfitOf(p)
	return cols.row([]string{fmt.Sprint(p.Tag), Clip(p.Title, 26), StateOf(p)}, cols.hours(worked),
		[]string{hours(workedOn(p)), Money(s.GetAcquisition()), Money(s.GetLabour()), Money(s.GetMaterial())}, func(u cost) string { return Money(u.of(s)) },
		Money(s.GetRework()), Money(s.GetFees()), Money(s.GetRevenue()), profit, perHour)
}

func (cols columns) sum(s *sheet, c money.Currency, worked map[string]time.Duration) []string {
	return cols.row([]string{"", "all pieces", ""}, cols.hours(worked),
		[]string{hours(s.worked), c.Format(s.acquisition), c.Format(s.labour), c.Format(s.material)}, func(u cost) string { return c.Format(s.unusual[u.name]) },
		c.Format(s.rework), c.Format(s.fees), c.Format(s.revenue), c.Format(s.profit), s.perHour(c))
}

func (cols columns) hours(worked map[string]time.Duration) (cells []string) {
	for _, name := range cols.workers {
		cells = append(cells, hours(worked[name]))
	}
	return cells
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
