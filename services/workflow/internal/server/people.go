package server

import (
	"context"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// AddPerson implements PeopleService.
func (s *Server) AddPerson(ctx context.Context, r *workflowv1.AddPersonRequest) (*workflowv1.AddPersonResponse, error) {
	now := s.Shop.Now()
	p := workflow.Person{ID: id.New(), Role: workflow.RoleHelper, Version: 1, Revision: 1}
	said := &workflowv1.Person{DisplayName: r.DisplayName, Skills: r.Skills, Levels: r.Levels, WorkingDays: r.WorkingDays, DaysOff: r.DaysOff, Stations: r.Stations,
		ActiveFrom: r.ActiveFrom, ActiveTo: r.ActiveTo}
	if err := readFields(said, personFields, &p); err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.AddPersonResponse, error) {
		st := store.New(tx)
		if err := knownStations(ctx, st, p, "stations"); err != nil {
			return nil, err
		}
		if err := st.InsertPerson(ctx, p); err != nil {
			return nil, err
		}
		e := outbox.Event{Kind: "person", Aggregate: p.ID, Version: p.Version, OccurredAt: now, Payload: personAdded(p)}
		return &workflowv1.AddPersonResponse{Person: encodePerson(p)}, s.Log.Append(ctx, tx, e, now)
	})
}

// UpdatePerson implements PeopleService.
func (s *Server) UpdatePerson(ctx context.Context, r *workflowv1.UpdatePersonRequest) (*workflowv1.UpdatePersonResponse, error) {
	now := s.Shop.Now()
	personID, err := id.One("person.name", r.Person.Name, "people")
	if err != nil {
		return nil, err
	}
	change, err := readChanges(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.UpdatePersonResponse, error) {
		st := store.New(tx)
		if err := st.LockPerson(ctx, personID); err != nil {
			return nil, err
		}
		p, err := st.Person(ctx, personID)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Person.Etag, p.Revision); err != nil {
			return nil, err
		}
		if err := change(&p); err != nil {
			return nil, err
		}
		if err := knownStations(ctx, st, p, "person.stations"); err != nil {
			return nil, err
		}
		p.Version++
		p.Revision++
		if err := st.UpdatePerson(ctx, p); err != nil {
			return nil, err
		}
		e := outbox.Event{Kind: "person", Aggregate: p.ID, Version: p.Version, OccurredAt: now, Payload: personChanged(p)}
		return &workflowv1.UpdatePersonResponse{Person: encodePerson(p)}, s.Log.Append(ctx, tx, e, now)
	})
}

// readChanges reads what the mask names. Faults: FIELD_UNKNOWN and those of the fields.
func readChanges(r *workflowv1.UpdatePersonRequest) (func(*workflow.Person) error, error) {
	var fields []personField
	for _, path := range r.UpdateMask.GetPaths() {
		field, known := fieldNamed(path)
		if !known {
			return nil, fault.New(fault.Invalid, "FIELD_UNKNOWN", "%q cannot be changed; these can: %s.", path, fieldNames()).At("update_mask")
		}
		fields = append(fields, field)
	}
	if len(fields) == 0 {
		return nil, fault.New(fault.Invalid, "FIELD_UNKNOWN", "Nothing is named that is to be changed; name some of %s.", fieldNames()).At("update_mask")
	}
	change := func(p *workflow.Person) error { return fieldIn(readFields(r.Person, fields, p), "person") }
	return change, change(&workflow.Person{})
}

// knownStations refuses a person who may use a station that was never saved. Fault:
// STATION_NOT_FOUND, at a field.
func knownStations(ctx context.Context, st store.Store, p workflow.Person, field string) error {
	unknown, err := st.UnknownStation(ctx, p.Stations)
	if err != nil || unknown < 0 {
		return err
	}
	return store.NoStation(p.Stations[unknown]).At(field)
}

// GetPerson implements PeopleService.
func (s *Server) GetPerson(ctx context.Context, r *workflowv1.GetPersonRequest) (*workflowv1.GetPersonResponse, error) {
	personID, err := id.One("name", r.Name, "people")
	if err != nil {
		return nil, err
	}
	var p workflow.Person
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		p, err = store.New(q).Person(ctx, personID)
		return err
	})
	if err != nil {
		return nil, atName(err)
	}
	return &workflowv1.GetPersonResponse{Person: encodePerson(p)}, nil
}

// ListPeople implements PeopleService.
func (s *Server) ListPeople(ctx context.Context, r *workflowv1.ListPeopleRequest) (*workflowv1.ListPeopleResponse, error) {
	var after id.ID
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var people []workflow.Person
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		people, err = store.New(q).People(ctx, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListPeopleResponse{NextPageToken: page.Next(people, size, func(p workflow.Person) any { return p.ID })}
	for _, p := range people {
		out.People = append(out.People, encodePerson(p))
	}
	return out, nil
}
