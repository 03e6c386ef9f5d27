package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

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
	row, err := toPerson(p)
	if err != nil {
		return err
	}
	return s.q.InsertPerson(ctx, row)
}

// UpdatePerson writes what a person is now. Fault at commit: PERSON_NAME_TAKEN.
func (s Store) UpdatePerson(ctx context.Context, p workflow.Person) error {
	row, err := toPerson(p)
	if err != nil {
		return err
	}
	return s.q.UpdatePerson(ctx, storedb.UpdatePersonParams{ID: row.ID, DisplayName: row.DisplayName, NameKey: row.NameKey, Skills: row.Skills, SkillLevels: row.SkillLevels,
		WorkingDays: row.WorkingDays, DaysOff: row.DaysOff, Stations: row.Stations, ActiveFrom: row.ActiveFrom, ActiveTo: row.ActiveTo, Version: row.Version, Revision: row.Revision})
}

// Person reads a person. Fault: PERSON_NOT_FOUND.
func (s Store) Person(ctx context.Context, i id.ID) (workflow.Person, error) {
	row, err := s.q.GetPerson(ctx, i)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Person{}, errNoPerson
	}
	if err != nil {
		return workflow.Person{}, err
	}
	return fromPerson(row)
}

// People reads up to limit people with a higher id, by id, which is the order they came in.
func (s Store) People(ctx context.Context, after id.ID, limit int32) ([]workflow.Person, error) {
	rows, err := s.q.ListPeople(ctx, storedb.ListPeopleParams{After: after, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	people := make([]workflow.Person, len(rows))
	for i, row := range rows {
		if people[i], err = fromPerson(storedb.GetPersonRow(row)); err != nil {
			return nil, err
		}
	}
	return people, nil
}

func toPerson(p workflow.Person) (row storedb.InsertPersonParams, err error) {
	row = storedb.InsertPersonParams{ID: p.ID, DisplayName: p.Name, NameKey: wire.NameKey(p.Name), Skills: []string{}, SkillLevels: []int32{},
		Stations: notNil(p.Stations), ActiveFrom: orNull(p.ActiveFrom), ActiveTo: orNull(p.ActiveTo), Version: p.Version, Revision: p.Revision}
	for _, s := range p.Skills {
		row.Skills, row.SkillLevels = append(row.Skills, s.Word), append(row.SkillLevels, s.Level)
	}
	if row.WorkingDays, err = json.Marshal(notNil(p.Week)); err != nil {
		return row, err
	}
	row.DaysOff, err = json.Marshal(notNil(p.DaysOff))
	return row, err
}

func fromPerson(row storedb.GetPersonRow) (workflow.Person, error) {
	p := workflow.Person{ID: row.ID, Name: row.DisplayName, Skills: skills(row.Skills, row.SkillLevels), Stations: row.Stations,
		ActiveFrom: orZero(row.ActiveFrom), ActiveTo: orZero(row.ActiveTo), Role: workflow.Role(row.Role), Version: row.Version, Revision: row.Revision}
	if err := json.Unmarshal(row.WorkingDays, &p.Week); err != nil {
		return p, fmt.Errorf("working days of person %s: %w", row.ID, err)
	}
	if err := json.Unmarshal(row.DaysOff, &p.DaysOff); err != nil {
		return p, fmt.Errorf("days off of person %s: %w", row.ID, err)
	}
	return p, nil
}

// skills puts words and levels together; where there are no levels, all are the usual one.
func skills(words []string, levels []int32) []workflow.Skill {
	out := make([]workflow.Skill, len(words))
	for i, w := range words {
		if out[i] = workflow.NewSkill(w, 0); i < len(levels) {
			out[i].Level = levels[i]
		}
	}
	return out
}

// notNil makes an empty list of a missing one, for columns that are never null.
func notNil[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
