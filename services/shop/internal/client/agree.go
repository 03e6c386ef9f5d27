package client

import (
	"cmp"
	"context"
	"slices"
	"time"

	datev1 "google.golang.org/genproto/googleapis/type/date"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Worked is what a person worked, counted three ways.
type Worked struct {
	Person   string        // display name
	Clocked  time.Duration // by their clock entries that count
	Pieces   time.Duration // by the cost sheets of all pieces
	Indirect time.Duration // what belongs to no piece
	Payroll  time.Duration // by the payroll of the week
}

// Agrees reports whether the three come to the same.
func (w Worked) Agrees() bool {
	return w.Clocked == w.Pieces+w.Indirect && w.Clocked == w.Payroll
}

// Worked counts what everybody worked, by name, in a shop all of whose work lies in the week of
// a day.
func (s *Shop) Worked(ctx context.Context, date *datev1.Date) ([]Worked, error) {
	all := map[string]*Worked{}
	of := func(person, name string) *Worked {
		if all[person] == nil {
			all[person] = &Worked{Person: name}
		}
		return all[person]
	}
	for _, add := range []func(context.Context, *datev1.Date, func(person, name string) *Worked) error{s.addClocked, s.addPieces, s.addIndirect, s.addPayroll} {
		if err := add(ctx, date, of); err != nil {
			return nil, err
		}
	}
	var out []Worked
	for _, w := range all {
		out = append(out, *w)
	}
	slices.SortFunc(out, func(a, b Worked) int { return cmp.Compare(a.Person, b.Person) })
	return out, nil
}

func (s *Shop) addClocked(ctx context.Context, _ *datev1.Date, of func(person, name string) *Worked) error {
	entries, err := All(ctx, func(ctx context.Context, token string) ([]*workflowv1.ClockEntry, string, error) {
		r, err := s.Clocks.ListClockEntries(ctx, &workflowv1.ListClockEntriesRequest{PageSize: page, PageToken: token})
		return r.GetClockEntries(), r.GetNextPageToken(), err
	})
	for _, e := range entries {
		if !e.Superseded && e.EndTime != nil {
			of(e.Person, e.PersonName).Clocked += e.EndTime.AsTime().Sub(e.StartTime.AsTime())
		}
	}
	return err
}

func (s *Shop) addPieces(ctx context.Context, _ *datev1.Date, of func(person, name string) *Worked) error {
	pieces, err := All(ctx, func(ctx context.Context, token string) ([]*costingv1.PieceCost, string, error) {
		r, err := s.Costing.ListPieceCosts(ctx, &costingv1.ListPieceCostsRequest{PageSize: page, PageToken: token})
		return r.GetPieceCosts(), r.GetNextPageToken(), err
	})
	for _, p := range pieces {
		for _, l := range p.LabourLines {
			of(l.Person, l.PersonName).Pieces += l.Time.AsDuration()
		}
	}
	return err
}

func (s *Shop) addIndirect(ctx context.Context, _ *datev1.Date, of func(person, name string) *Worked) error {
	lines, err := All(ctx, func(ctx context.Context, token string) ([]*workflowv1.ListHoursResponse_Line, string, error) {
		r, err := s.Floor.ListHours(ctx, &workflowv1.ListHoursRequest{By: []workflowv1.ListHoursRequest_By{workflowv1.ListHoursRequest_BY_PERSON}, PageSize: page, PageToken: token})
		return r.GetLines(), r.GetNextPageToken(), err
	})
	for _, l := range lines {
		of(l.Person, l.PersonName).Indirect += l.IndirectTime.AsDuration()
	}
	return err
}

func (s *Shop) addPayroll(ctx context.Context, date *datev1.Date, of func(person, name string) *Worked) error {
	r, err := s.Payroll.GetPayrollWeek(ctx, &costingv1.GetPayrollWeekRequest{Date: date})
	for _, l := range r.GetPayrollWeek().GetLines() {
		// What was worked: paid breaks and rounding are nobody's clock.
		of(l.Person, l.PersonName).Payroll += l.Time.AsDuration() - l.PaidBreakTime.AsDuration() - l.RoundingTime.AsDuration()
	}
	return err
}
