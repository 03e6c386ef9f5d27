package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// Able reads the names of up to limit people who can do a stage on the day of an instant, in
// its own zone, by name.
func (s Store) Able(ctx context.Context, stage workflow.Stage, at time.Time, limit int32) ([]string, error) {
	y, m, d := at.Date()
	return s.q.PeopleWho(ctx, storedb.PeopleWhoParams{Skill: stage.Skill, Level: stage.SkillLevel, Day: time.Date(y, m, d, 0, 0, 0, 0, time.UTC), PageLimit: limit})
}

// LockPeople locks some people, by id, and reads them. Fault: PERSON_NOT_FOUND.
func (s Store) LockPeople(ctx context.Context, ids ...id.ID) (map[id.ID]workflow.Person, error) {
	rows, err := s.q.LockPeople(ctx, ids)
	if err != nil {
		return nil, err
	}
	people := make(map[id.ID]workflow.Person, len(rows))
	for _, row := range rows {
		if people[row.ID], err = fromPerson(storedb.GetPersonRow(row)); err != nil {
			return nil, err
		}
	}
	for _, i := range ids {
		if _, known := people[i]; !known {
			return nil, errNoPerson
		}
	}
	return people, nil
}

// Running reads what a person is on: one entry, or all of a stretch on a batch, in their
// order; nothing when they are not on the clock.
func (s Store) Running(ctx context.Context, person id.ID) ([]workflow.Entry, error) {
	rows, err := s.q.OpenEntries(ctx, person)
	return fromEntries(rows), err
}

// Promise writes until when a piece is promised and what it is worth.
func (s Store) Promise(ctx context.Context, p workflow.Piece) error {
	return s.q.PromisePiece(ctx, storedb.PromisePieceParams{ID: p.ID, PromisedAt: orNull(p.Promised), Value: p.Value})
}
