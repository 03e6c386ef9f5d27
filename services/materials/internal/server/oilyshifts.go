package server

import (
	"context"
	"time"

	"google.golang.org/genproto/googleapis/type/timeofday"

	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// shiftsAsked is how often is asked anew when shifts end of those who made oily waste, for hours
// are changed.
const shiftsAsked = 5 * time.Minute

// noteOily notes the oily waste that comes of what was posted.
func (s *Server) noteOily(ctx context.Context, st store.Store, shelf *materials.Shelf) error {
	for _, p := range shelf.Posted {
		if err := st.NoteOilyEntry(ctx, p.Entry, s.Shop.Zone); err != nil {
			return err
		}
	}
	return nil
}

// askShifts asks workflow when the shifts end of those who made oily waste that is open, for that
// is when it is due; of whom nobody said, the waste is due as if the shop closed. It asks outside
// of a transaction.
func (s *Server) askShifts(ctx context.Context, now time.Time) error {
	var work []materials.OilyWork
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		work, err = store.New(q).ShiftsToAsk(ctx, now.Add(-shiftsAsked))
		return err
	})
	if err != nil || len(work) == 0 {
		return err
	}
	weeks, err := s.weeks(ctx)
	if err != nil {
		return err
	}
	return s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		for _, w := range work {
			if err := st.NoteShiftEnd(ctx, w.Day, w.Person, materials.ShiftEnd(w.At, weeks[w.Person], s.Shop.Zone), now); err != nil {
				return err
			}
		}
		return nil
	})
}

// weeks are the hours of all people, by what they are called.
func (s *Server) weeks(ctx context.Context) (map[string]map[time.Weekday]materials.ShiftHours, error) {
	weeks := map[string]map[time.Weekday]materials.ShiftHours{}
	for token := ""; ; {
		people, err := s.People.ListPeople(ctx, &workflowv1.ListPeopleRequest{PageToken: token})
		if err != nil {
			return nil, err
		}
		for _, p := range people.People {
			week := map[time.Weekday]materials.ShiftHours{}
			for _, d := range p.WorkingDays { // Sunday is the seventh day there, and day zero here
				week[time.Weekday(d.Day%7)] = materials.ShiftHours{Start: clockOf(d.Start), End: clockOf(d.End)}
			}
			weeks[p.DisplayName] = week
		}
		if token = people.NextPageToken; token == "" {
			return weeks, nil
		}
	}
}

// clockOf is how long after midnight a time of the day is.
func clockOf(t *timeofday.TimeOfDay) time.Duration {
	return time.Duration(t.GetHours())*time.Hour + time.Duration(t.GetMinutes())*time.Minute
}
