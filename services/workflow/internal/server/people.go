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
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// AddPerson implements PeopleService.
func (s *Server) AddPerson(ctx context.Context, r *workflowv1.AddPersonRequest) (*workflowv1.AddPersonResponse, error) {
	now := s.Shop.Now()
	p := workflow.Person{ID: id.New(), Name: wire.Name(r.DisplayName), Skills: decodeSkills(r.Skills), Version: 1, Revision: 1}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.AddPersonResponse, error) {
		if err := store.New(tx).InsertPerson(ctx, p); err != nil {
			return nil, err
		}
		e := outbox.Event{Kind: "person", Aggregate: p.ID, Version: p.Version, OccurredAt: now,
			Payload: &eventsv1.PersonAdded{PersonId: p.ID.String(), DisplayName: p.Name, Skills: words(p.Skills), SkillLevels: levels(p.Skills)}}
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
	name, skills, err := changes(r)
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
		if name != nil {
			p.Name = *name
		}
		if skills != nil {
			p.Skills = skills
		}
		p.Version++
		p.Revision++
		if err := st.UpdatePerson(ctx, p); err != nil {
			return nil, err
		}
		e := outbox.Event{Kind: "person", Aggregate: p.ID, Version: p.Version, OccurredAt: now,
			Payload: &eventsv1.PersonChanged{PersonId: p.ID.String(), DisplayName: p.Name, Skills: words(p.Skills), SkillLevels: levels(p.Skills)}}
		return &workflowv1.UpdatePersonResponse{Person: encodePerson(p)}, s.Log.Append(ctx, tx, e, now)
	})
}

// changes reads what the mask names. Faults: FIELD_UNKNOWN, INVALID_FIELD.
func changes(r *workflowv1.UpdatePersonRequest) (name *string, skills []workflow.Skill, err error) {
	for _, path := range r.UpdateMask.GetPaths() {
		switch path {
		case "display_name":
			n := wire.Name(r.Person.DisplayName)
			if n == "" {
				return nil, nil, fault.New(fault.Invalid, "INVALID_FIELD", "person.display_name must say something.").At("person.display_name")
			}
			name = &n
		case "skills":
			skills = decodeSkills(r.Person.Skills)
		default:
			return nil, nil, fault.New(fault.Invalid, "FIELD_UNKNOWN", "%q cannot be changed; display_name and skills can.", path).At("update_mask")
		}
	}
	if name == nil && skills == nil {
		return nil, nil, fault.New(fault.Invalid, "FIELD_UNKNOWN", "The update_mask names nothing; name display_name, skills or both.").At("update_mask")
	}
	return name, skills, nil
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

func encodePerson(p workflow.Person) *workflowv1.Person {
	return &workflowv1.Person{Name: id.Name("people", p.ID), DisplayName: p.Name, Skills: encodeSkills(p.Skills), Etag: wire.Etag(p.Revision)}
}

func decodeSkills(in []*workflowv1.Skill) []workflow.Skill {
	out := make([]workflow.Skill, len(in))
	for i, s := range in {
		out[i] = workflow.NewSkill(s.Word, s.Level)
	}
	return out
}

func encodeSkills(in []workflow.Skill) []*workflowv1.Skill {
	out := make([]*workflowv1.Skill, len(in))
	for i, s := range in {
		out[i] = &workflowv1.Skill{Word: s.Word, Level: s.Level}
	}
	return out
}

func words(skills []workflow.Skill) []string {
	out := make([]string, len(skills))
	for i, s := range skills {
		out[i] = s.Word
	}
	return out
}

func levels(skills []workflow.Skill) []int32 {
	out := make([]int32, len(skills))
	for i, s := range skills {
		out[i] = s.Level
	}
	return out
}
