package cli

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type stationCmd struct {
	Save saveStationCmd  `cmd:"" help:"Write down where work is done and pieces stand, or change it: what is not said stays."`
	List listStationsCmd `cmd:"" help:"List the stations and what stands there."`
	Move moveCmd         `cmd:"" help:"Carry a piece, or a part of it, to a station."`
}

type saveStationCmd struct {
	command
	Word       string         `arg:"" help:"What it goes by: booth, bench-2 …"`
	Name       string         `help:"What people call it; without it, its word."`
	Kind       string         `help:"What it is: bench, booth, rack or outdoors." placeholder:"KIND"`
	Holds      string         `help:"How much stands there at one time: '4 pieces', or '12 parts'. However many parts of one piece stand there, they are one piece." placeholder:"NUMBER"`
	Open       []string       `help:"When it is open: 'mon-fri 07:00-19:00'; an empty one: always. Repeat for each." placeholder:"HOURS" sep:"none"`
	Work       []string       `help:"A kind of stage that may be done there: strip, topcoat_coat …; none: any. Repeat for each." placeholder:"KIND" sep:"none"`
	Changeover *time.Duration `help:"How long it is cleaned from one product to another, such as 20m." placeholder:"LENGTH"`
	Zone       *string        `help:"The zone whose air is the station's, by its word." placeholder:"WORD"`
	Retired    *bool          `help:"It is there no more: nothing new comes in." negatable:""`
}

func (c *saveStationCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		st, err := c.known(e, shop)
		if err != nil {
			return err
		}
		if err := c.change(st); err != nil {
			return err
		}
		resp, err := shop.Stations.SaveStation(e.ctx, &workflowv1.SaveStationRequest{RequestId: c.request(), Station: st})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStations(e, []*workflowv1.Station{resp.Station}) })
	})
}

// known is the station as it is, or a new one.
func (c *saveStationCmd) known(e *env, shop *client.Shop) (*workflowv1.Station, error) {
	name := stationName(c.Word)
	r, err := shop.Stations.ListStations(e.ctx, &workflowv1.ListStationsRequest{})
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(r.Stations, func(st *workflowv1.Station) bool { return st.Name == name })
	if i < 0 {
		if c.Kind == "" || c.Holds == "" {
			return nil, errors.New("of a new station say --kind and --holds")
		}
		return &workflowv1.Station{Name: name, DisplayName: bare(name)}, nil
	}
	st := r.Stations[i]
	st.Placements, st.Etag = nil, ""
	return st, nil
}

// change puts what was said into the station.
func (c *saveStationCmd) change(st *workflowv1.Station) (err error) {
	if c.Name != "" {
		st.DisplayName = c.Name
	}
	if c.Kind != "" {
		if st.Kind, err = readEnum[workflowv1.Station_Kind]("KIND_", c.Kind, workflowv1.Station_Kind_value); err != nil {
			return err
		}
	}
	if c.Holds != "" {
		if st.Capacity, st.Unit, err = holds(c.Holds); err != nil {
			return err
		}
	}
	if c.Open != nil {
		if st.OpenHours, err = client.OpenHours(c.Open); err != nil {
			return err
		}
	}
	if c.Work != nil {
		st.StageKinds = client.Said(c.Work)
	}
	if c.Changeover != nil {
		st.ChangeoverMinutes = int32(c.Changeover.Minutes())
	}
	if c.Zone != nil {
		st.Zone = zoneName(*c.Zone)
	}
	if c.Retired != nil {
		st.Retired = *c.Retired
	}
	return nil
}

// holds reads how much stands somewhere: 4 pieces, or 12 parts.
func holds(text string) (int32, workflowv1.Station_Unit, error) {
	words := strings.Fields(text)
	if len(words) == 2 {
		n, err := strconv.ParseInt(words[0], 10, 32)
		unit := workflowv1.Station_Unit(workflowv1.Station_Unit_value["UNIT_"+strings.ToUpper(strings.TrimSuffix(words[1], "s"))+"S"])
		if err == nil && n > 0 && unit != workflowv1.Station_UNIT_UNSPECIFIED {
			return int32(n), unit, nil
		}
	}
	return 0, 0, fmt.Errorf("%q is not how much stands there, such as '4 pieces' or '12 parts'", text)
}

func stationName(word string) string {
	if word == "" {
		return ""
	}
	return "stations/" + strings.TrimPrefix(word, "stations/")
}

type listStationsCmd struct{ listOutput }

func (c *listStationsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Stations.ListStations(e.ctx, &workflowv1.ListStationsRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStations(e, resp.Stations) })
	})
}

func printStations(e *env, all []*workflowv1.Station) error {
	t := &report.Table{Headings: []string{"station", "called", "kind", " holds", "open", "for", " changeover", "air", "there now"}}
	for _, s := range all {
		kind := enumWord("KIND_", s.Kind.String())
		if s.Retired {
			kind += ", retired"
		}
		open, change := client.WriteOpen(s.OpenHours), "–"
		if open == "" {
			open = "always"
		}
		if s.ChangeoverMinutes > 0 {
			change = report.Length(time.Duration(s.ChangeoverMinutes) * time.Minute)
		}
		t.Add(bare(s.Name), s.DisplayName, kind, fmt.Sprintf("%d of %d %s", held(s), s.Capacity, enumWord("UNIT_", s.Unit.String())), open,
			writeKinds(s.StageKinds), change, bare(s.Zone), standing(s.Placements))
	}
	return t.Print(e.out)
}

// writeKinds writes kinds of stages; none is any.
func writeKinds(kinds []string) string {
	if len(kinds) == 0 {
		return "anything"
	}
	return report.Kind(strings.Join(kinds, ", "))
}

// held is how much of a station's capacity is taken.
func held(s *workflowv1.Station) (n int32) {
	pieces := map[string]bool{}
	for _, p := range s.Placements {
		if pieces[p.Piece] = true; s.Unit == workflowv1.Station_UNIT_PARTS {
			n += p.Count
		}
	}
	if s.Unit == workflowv1.Station_UNIT_PIECES {
		n = int32(len(pieces))
	}
	return n
}
