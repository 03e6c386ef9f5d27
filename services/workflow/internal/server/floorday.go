package server

import (
	"context"
	"slices"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// GetDay implements FloorService.
func (s *Server) GetDay(ctx context.Context, r *workflowv1.GetDayRequest) (*workflowv1.GetDayResponse, error) {
	personID, err := id.One("person", r.Person, "people")
	if err != nil {
		return nil, err
	}
	day, err := wire.Day("date", r.Date)
	if err != nil {
		return nil, err
	}
	now := s.Shop.Now()
	today := workflow.Today(now.In(s.Shop.Zone))
	if day.IsZero() {
		day = today
	}
	out := &workflowv1.GetDayResponse{Date: wire.ToDay(day)}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		person, err := st.Person(ctx, personID)
		if err != nil {
			return err
		}
		out.Person = encodePerson(person)
		s.shift(person, day, out)
		if err := s.clockOfDay(ctx, st, personID, day, now, out); err != nil {
			return err
		}
		if out.OpenReviews, err = st.OpenReviewsOf(ctx, personID); err != nil {
			return err
		}
		return s.toDo(ctx, q, person, day.Equal(today), out)
	})
	return out, err
}

// clockOfDay reads a person's clock: what they are on or paused from, and what lies on the day.
func (s *Server) clockOfDay(ctx context.Context, st store.Store, person id.ID, day, now time.Time, out *workflowv1.GetDayResponse) error {
	running, err := st.Running(ctx, person)
	if err != nil {
		return err
	}
	pausedFrom, err := pausedFrom(ctx, st, person)
	if err != nil {
		return err
	}
	from, to := workflow.DayBetween(day, s.Shop.Zone)
	entries, err := st.Between(ctx, person, from, to)
	if err != nil {
		return err
	}
	// A clock that runs has no end yet, but nothing of it lies ahead.
	entries = slices.DeleteFunc(entries, func(e workflow.Entry) bool { return e.Open() && from.After(now) })
	labour, indirect := workflow.Worked(entries, from, to, now)
	entries = wholeStretch(entries, running)
	out.Running, out.Paused, out.ClockEntries = encodeEntries(running), encodeEntries(pausedFrom), encodeEntries(entries)
	out.LabourTime, out.IndirectTime = durationpb.New(labour), durationpb.New(indirect)
	return nil
}

// wholeStretch has all entries of a stretch on a batch that runs where one of them is: the others
// have no times of their own before it ends.
func wholeStretch(entries, running []workflow.Entry) []workflow.Entry {
	for _, e := range running {
		if e.Held && slices.ContainsFunc(entries, func(of workflow.Entry) bool { return of.Open() && of.Stretch == e.Stretch }) {
			entries = append(entries, e)
		}
	}
	return entries
}

// pausedFrom reads what a person paused from: their last entry, or all of its stretch.
func pausedFrom(ctx context.Context, st store.Store, person id.ID) ([]workflow.Entry, error) {
	last, there, err := st.LastEntry(ctx, person)
	switch {
	case err != nil || !there || !last.Paused || last.Open():
		return nil, err
	case last.Stretch != id.Nil:
		return st.Stretch(ctx, last.Stretch)
	}
	return []workflow.Entry{last}, nil
}

// shift writes the person's shift on a day, or why there is none.
func (s *Server) shift(p workflow.Person, day time.Time, out *workflowv1.GetDayResponse) {
	shift, why := p.ShiftOn(day, s.Shop.Zone)
	if shift == nil {
		out.Absence, out.AbsenceSaid = why.Text, wire.ToSaid(why)
		return
	}
	out.Shift = &workflowv1.GetDayResponse_Shift{StartTime: wire.ToInstant(shift.Start), EndTime: wire.ToInstant(shift.End)}
	for _, b := range shift.Breaks {
		out.Shift.Breaks = append(out.Shift.Breaks, &workflowv1.GetDayResponse_Pause{StartTime: wire.ToInstant(b.Start), EndTime: wire.ToInstant(b.End)})
	}
}
