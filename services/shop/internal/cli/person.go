package cli

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/types/known/fieldmaskpb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type personCmd struct {
	Add    addPersonCmd    `cmd:"" help:"Add somebody who works in the shop."`
	Change changePersonCmd `cmd:"" help:"Change what somebody is called or can do."`
	List   listPeopleCmd   `cmd:"" help:"List who works in the shop."`
}

type addPersonCmd struct {
	command
	Name  string   `arg:"" help:"Display name."`
	Skill []string `help:"A skill that routes ask for; repeat for each." placeholder:"SKILL" sep:"none"`
}

func (c *addPersonCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.People.AddPerson(e.ctx, &workflowv1.AddPersonRequest{RequestId: c.request(), DisplayName: c.Name, Skills: client.Skills(c.Skill)})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "%s is in the shop. Say what an hour costs with: shop cost rate %q --per-hour AMOUNT --from DAY\n", c.Name, c.Name)
			return err
		})
	})
}

type changePersonCmd struct {
	command
	Who   string   `arg:"" help:"Display name, as it is now." name:"name"`
	Name  string   `help:"What they are called from now on."`
	Skill []string `help:"All that they can do from now on; repeat for each. An empty one takes all away." placeholder:"SKILL" sep:"none"`
}

func (c *changePersonCmd) Run(e *env) error {
	if c.Name == "" && c.Skill == nil {
		return errors.New("say what changes: --name, or --skill for each of their skills")
	}
	return e.with(func(shop *client.Shop) error {
		who, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.People.UpdatePerson(e.ctx, c.change(who.Name))
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printPeople(e, []*workflowv1.Person{resp.Person}) })
	})
}

// find finds who is meant. A change that is given again may have changed their name.
func (c *changePersonCmd) find(ctx context.Context, shop *client.Shop) (*workflowv1.Person, error) {
	who, err := shop.Person(ctx, c.Who)
	if err == nil || c.RequestID == "" || c.Name == "" {
		return who, err
	}
	if renamed, again := shop.Person(ctx, c.Name); again == nil {
		return renamed, nil
	}
	return nil, err
}

// change asks for what was said and nothing else.
func (c *changePersonCmd) change(who string) *workflowv1.UpdatePersonRequest {
	r := &workflowv1.UpdatePersonRequest{RequestId: c.request(), Person: &workflowv1.Person{Name: who}, UpdateMask: &fieldmaskpb.FieldMask{}}
	if c.Name != "" {
		r.Person.DisplayName = c.Name
		r.UpdateMask.Paths = append(r.UpdateMask.Paths, "display_name")
	}
	if c.Skill != nil {
		r.Person.Skills = client.Skills(slices.DeleteFunc(slices.Clone(c.Skill), func(s string) bool { return s == "" }))
		r.UpdateMask.Paths = append(r.UpdateMask.Paths, "skills")
	}
	return r
}

type listPeopleCmd struct{ output }

func (c *listPeopleCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		people, err := shop.AllPeople(e.ctx)
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListPeopleResponse{People: people}, func() error { return printPeople(e, people) })
	})
}

func printPeople(e *env, people []*workflowv1.Person) error {
	t := &report.Table{Headings: []string{"name", "skills"}}
	for _, p := range people {
		t.Add(p.DisplayName, strings.Join(client.SkillWords(p.Skills), ", "))
	}
	return t.Print(e.out)
}
