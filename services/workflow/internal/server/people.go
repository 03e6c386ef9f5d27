package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// AddPerson implements PeopleService.
func (s *Server) AddPerson(ctx context.Context, r *workflowv1.AddPersonRequest) (*workflowv1.AddPersonResponse, error) {
	now := s.Shop.Now()
	p := workflow.Person{ID: id.New(), Name: r.DisplayName, Skills: r.Skills, Version: 1}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.AddPersonResponse, error) {
		if err := store.New(tx).InsertPerson(ctx, p); err != nil {
			return nil, err
		}
		e := outbox.Event{Kind: "person", Aggregate: p.ID, Version: p.Version, OccurredAt: now,
			Payload: &eventsv1.PersonAdded{PersonId: p.ID.String(), DisplayName: p.Name, Skills: p.Skills}}
		return &workflowv1.AddPersonResponse{Person: encodePerson(p)}, s.Log.Append(ctx, tx, e, now)
	})
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
		return nil, err
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

func encodePerson(p workflow.Person) *workflowv1.Person {
	return &workflowv1.Person{Name: id.Name("people", p.ID), DisplayName: p.Name, Skills: p.Skills, Etag: wire.Etag(p.Version)}
}
