package store

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

var errNoPerson = fault.New(fault.NotFound, "PERSON_NOT_FOUND", "There is no such person; look the name up in the list of people.").At("person")

// InsertPerson writes a new person. Fault at commit: PERSON_NAME_TAKEN.
func (s Store) InsertPerson(ctx context.Context, p workflow.Person) error {
	return s.q.InsertPerson(ctx, storedb.InsertPersonParams{ID: p.ID, DisplayName: p.Name, NameKey: wire.NameKey(p.Name), Skills: notNil(p.Skills), Version: p.Version})
}

// UpdatePerson writes what a person is now. Fault at commit: PERSON_NAME_TAKEN.
func (s Store) UpdatePerson(ctx context.Context, p workflow.Person) error {
	return s.q.UpdatePerson(ctx, storedb.UpdatePersonParams{ID: p.ID, DisplayName: p.Name, NameKey: wire.NameKey(p.Name), Skills: notNil(p.Skills), Version: p.Version})
}

// Person reads a person. Fault: PERSON_NOT_FOUND.
func (s Store) Person(ctx context.Context, i id.ID) (workflow.Person, error) {
	row, err := s.q.GetPerson(ctx, i)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Person{}, errNoPerson
	}
	return fromPerson(row), err
}

// People reads up to limit people with a higher id, by id, which is the order they came in.
func (s Store) People(ctx context.Context, after id.ID, limit int32) ([]workflow.Person, error) {
	rows, err := s.q.ListPeople(ctx, storedb.ListPeopleParams{After: after, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	people := make([]workflow.Person, len(rows))
	for i, row := range rows {
		people[i] = fromPerson(storedb.GetPersonRow(row))
	}
	return people, nil
}

func fromPerson(row storedb.GetPersonRow) workflow.Person {
	return workflow.Person{ID: row.ID, Name: row.DisplayName, Skills: row.Skills, Version: row.Version}
}

// notNil makes an empty list of a missing one, for columns that are never null.
func notNil[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
