package store

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// Crew reads who somebody else is chosen from for stages: all people, and the station that is
// named by its word or else those of the kinds that the stages need. A word that no station has
// names none.
func (s Store) Crew(ctx context.Context, stages []workflow.Stage, word string) (c workflow.Crew, err error) {
	if c.People, err = s.PeopleWith(ctx, ""); err != nil {
		return c, err
	}
	kinds := []string{}
	for _, stage := range stages {
		if stage.Station != "" && word == "" {
			kinds = append(kinds, stage.Station)
		}
	}
	rows, err := s.q.Stations(ctx, storedb.StationsParams{Word: word, Kinds: kinds})
	if err != nil {
		return c, err
	}
	c.Stations, err = fromStations(rows)
	return c, err
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
