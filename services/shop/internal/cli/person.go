package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"google.golang.org/protobuf/types/known/fieldmaskpb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type personCmd struct {
	Add    addPersonCmd    `cmd:"" help:"Add somebody who works in the shop."`
	Change changePersonCmd `cmd:"" help:"Change what somebody is called, can do, or when they work."`
	List   listPeopleCmd   `cmd:"" help:"List who works in the shop."`
	Show   showPersonCmd   `cmd:"" help:"Show what somebody can do and when they work."`

	Role       rolePersonCmd       `cmd:"" help:"Say what somebody is in the shop, and so what they may do."`
	Pin        pinPersonCmd        `cmd:"" help:"Give a helper a PIN to sign in with."`
	Passphrase passphrasePersonCmd `cmd:"" help:"Give somebody a passphrase to sign in with."`
	Unlock     unlockPersonCmd     `cmd:"" help:"Let somebody try again who typed too many wrong PINs."`
}

type addPersonCmd struct {
	command
	Name string `arg:"" help:"Display name."`
	personFields
}

func (c *addPersonCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p := &workflowv1.Person{}
		if _, err := c.read(e.ctx, shop, p); err != nil {
			return err
		}
		resp, err := shop.People.AddPerson(e.ctx, &workflowv1.AddPersonRequest{RequestId: c.request(), DisplayName: c.Name, Skills: p.Skills, Levels: p.Levels,
			WorkingDays: p.WorkingDays, DaysOff: p.DaysOff, Stations: p.Stations, ActiveFrom: p.ActiveFrom, ActiveTo: p.ActiveTo})
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
	Who  string `arg:"" help:"Display name, as it is now." name:"name"`
	Name string `help:"What they are called from now on."`
	personFields
}

// Help implements kong.HelpProvider.
func (changePersonCmd) Help() string {
	return "What is said holds as a whole from now on: all skills, all hours, all days off. An empty one takes all away."
}

func (c *changePersonCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r, err := c.change(e.ctx, shop)
		if err != nil {
			return err
		}
		who, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		r.RequestId, r.Person.Name = c.request(), who.Name
		resp, err := shop.People.UpdatePerson(e.ctx, r)
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
func (c *changePersonCmd) change(ctx context.Context, shop *client.Shop) (*workflowv1.UpdatePersonRequest, error) {
	p := &workflowv1.Person{DisplayName: c.Name}
	paths, err := c.read(ctx, shop, p)
	if err != nil {
		return nil, err
	}
	if c.Name != "" {
		paths = append([]string{"display_name"}, paths...)
	}
	if len(paths) == 0 {
		return nil, errors.New("say what changes: --name, or --skill for each of their skills, or when they work")
	}
	return &workflowv1.UpdatePersonRequest{Person: p, UpdateMask: &fieldmaskpb.FieldMask{Paths: paths}}, nil
}

type listPeopleCmd struct{ listOutput }

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
	t := &report.Table{Headings: []string{"name", "skills", "works", "off", "at", "from", "to"}}
	for _, p := range people {
		t.Add(p.DisplayName, strings.Join(client.SkillWords(p), ", "), client.WriteWorks(p.WorkingDays), client.WriteOff(p.DaysOff), writeStations(p.Stations),
			client.WriteDay(p.ActiveFrom), client.WriteDay(p.ActiveTo))
	}
	return t.Print(e.out)
}

type showPersonCmd struct {
	listOutput
	Who string `arg:"" help:"Display name." name:"name"`
}

func (c *showPersonCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		return c.print(e, who, func() error { return printPerson(e, who) })
	})
}

// printPerson prints what is known of somebody, a line each; what nobody said is left out.
func printPerson(e *env, p *workflowv1.Person) error {
	t := &report.Table{Headings: []string{p.DisplayName, ""}}
	for _, line := range [][2]string{{"skills", strings.Join(client.SkillWords(p), ", ")}, {"works", client.WriteWorks(p.WorkingDays)},
		{"off", client.WriteOff(p.DaysOff)}, {"is", roleWord(p.Role)}, {"stations", writeStations(p.Stations)}, {"from", client.WriteDay(p.ActiveFrom)}, {"to", client.WriteDay(p.ActiveTo)}} {
		if line[1] != "" {
			t.Add(line[0], line[1])
		}
	}
	return t.Print(e.out)
}
