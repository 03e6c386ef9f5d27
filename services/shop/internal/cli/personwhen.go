package cli

import (
	"context"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// personFields are what is said of somebody beside their name. A list that is said holds as a
// whole; an empty text takes all away.
type personFields struct {
	Skill   []string `help:"A skill that routes ask for, such as spray, or spray:3 with its level: 1 under somebody's eye, 2 alone, 3 well enough to teach it. Repeat for each." placeholder:"SKILL" sep:"none"`
	Works   []string `help:"When they work: 'mon-fri 08:00-16:30', 'tue,thu,sat 09:00-13:00'. Repeat for each." placeholder:"HOURS" sep:"none"`
	Break   []string `help:"A break: 12:00-12:30 on each day that has it, or 'sat 10:00-10:15'. Repeat for each; it goes with --works." placeholder:"HOURS" sep:"none"`
	Off     []string `help:"Days on which they are away: 2026-12-24, or 2026-12-24..2026-12-26=reason. Repeat for each." placeholder:"DAYS" sep:"none"`
	Station []string `help:"A station that they may use, by its word or name; none: any. Repeat for each." placeholder:"STATION" sep:"none"`
	From    *string  `help:"The first day on which they belong to the shop." placeholder:"DAY"`
	To      *string  `help:"The last one." placeholder:"DAY"`
}

// read puts what was said into a person, and names the fields that it is about.
func (c *personFields) read(ctx context.Context, shop *client.Shop, p *workflowv1.Person) (paths []string, err error) {
	if c.Skill != nil {
		p.Skills, p.Levels = client.Skills(client.Said(c.Skill))
		paths = append(paths, "skills")
	}
	if c.Works != nil || c.Break != nil {
		if p.WorkingDays, err = client.WorkingDays(c.Works, c.Break); err != nil {
			return nil, err
		}
		paths = append(paths, "working_days")
	}
	if c.Off != nil {
		if p.DaysOff, err = client.DaysOff(c.Off); err != nil {
			return nil, err
		}
		paths = append(paths, "days_off")
	}
	if c.Station != nil {
		if p.Stations, err = stations(ctx, shop, c.Station); err != nil {
			return nil, err
		}
		paths = append(paths, "stations")
	}
	if c.From != nil {
		if p.ActiveFrom, err = client.Day(*c.From); err != nil {
			return nil, err
		}
		paths = append(paths, "active_from")
	}
	if c.To != nil {
		if p.ActiveTo, err = client.Day(*c.To); err != nil {
			return nil, err
		}
		paths = append(paths, "active_to")
	}
	return paths, nil
}

func stations(ctx context.Context, shop *client.Shop, refs []string) (names []string, err error) {
	for _, ref := range client.Said(refs) {
		st, err := shop.Station(ctx, ref)
		if err != nil {
			return nil, err
		}
		names = append(names, st.Name)
	}
	return names, nil
}

// writeStations writes stations by their words; none is any.
func writeStations(names []string) string {
	if len(names) == 0 {
		return "any"
	}
	words := make([]string, len(names))
	for i, n := range names {
		words[i] = bare(n)
	}
	return strings.Join(words, ", ")
}
