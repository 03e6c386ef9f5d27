package cli

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"tackfree/pkg/dimension"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type equipmentCmd struct {
	Add      addEquipmentCmd    `cmd:"" help:"Write down what runs while stages are done: a sprayer, a sander, a compressor."`
	Change   changeEquipmentCmd `cmd:"" help:"Say something else of it; what is not said stays."`
	List     listEquipmentCmd   `cmd:"" help:"List it, its hours and what is due for service."`
	Service  serviceCmd         `cmd:"" help:"It was serviced: its hours until the next service begin anew."`
	Services listServicesCmd    `cmd:"" help:"List how it was serviced, newest first."`
	Hours    equipmentHoursCmd  `cmd:"" help:"Show what ran for a piece, and what that costs by the hour."`
}

type addEquipmentCmd struct {
	command
	Name         string      `arg:"" help:"Display name."`
	Kind         string      `help:"What it is: sprayer, sander, compressor …" required:"" placeholder:"KIND"`
	At           []string    `name:"for" help:"The kinds of stage that it runs at: topcoat_coat, sand …; repeat, or with commas between." required:"" placeholder:"KIND,…" sep:"none"`
	PerHour      string      `help:"What an hour of it costs: wear, power, filters." placeholder:"AMOUNT"`
	ServiceEvery *wholeHours `help:"After how many hours it is due for service, such as 200h; without it, never." placeholder:"TIME"`
	Station      string      `help:"The station at which alone it runs, by its word or name." placeholder:"STATION"`
	Ran          *wholeHours `help:"How long it had run before, such as 700h, if it was bought used." placeholder:"TIME"`
}

func (c *addEquipmentCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		q := &materialsv1.Equipment{DisplayName: c.Name, Kind: c.Kind, StageKinds: words(c.At)}
		put(&q.ServiceHours, c.ServiceEvery, wholeHours.count)
		put(&q.StartingHours, c.Ran, wholeHours.count)
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		if q.HourlyCost, err = terms.Amount(c.PerHour); err != nil {
			return err
		}
		if q.Station, err = optionalStation(e, shop, c.Station); err != nil {
			return err
		}
		return saveEquipment(e, shop, &c.command, q)
	})
}

// saveEquipment writes equipment down.
func saveEquipment(e *env, shop *client.Shop, c *command, q *materialsv1.Equipment) error {
	resp, err := shop.Equipment.SaveEquipment(e.ctx, &materialsv1.SaveEquipmentRequest{RequestId: c.request(), Equipment: q})
	if err != nil {
		return err
	}
	return c.print(e, resp, func() error { return printSaved(e, shop, resp.Equipment) })
}

// printSaved prints equipment with the hours it has, which are read anew.
func printSaved(e *env, shop *client.Shop, q *materialsv1.Equipment) error {
	all, err := shop.Equipment.ListEquipment(e.ctx, &materialsv1.ListEquipmentRequest{ShowRetired: true})
	if err != nil {
		return err
	}
	other := func(l *materialsv1.ListEquipmentResponse_Line) bool { return l.GetEquipment().GetName() != q.GetName() }
	return printEquipment(e, shop, slices.DeleteFunc(all.Lines, other))
}

// wholeHours is a length of time that is counted in whole hours.
type wholeHours int32

// Decode implements kong.MapperValue.
func (v *wholeHours) Decode(c *kong.DecodeContext) error {
	var text string
	if err := c.Scan.PopValueInto("number and unit", &text); err != nil {
		return err
	}
	length, err := dimension.Time.Parse(text)
	switch {
	case err != nil && strings.HasSuffix(text, "m"):
		return fmt.Errorf("%q: m is metres here, and minutes are 90min; say whole hours, such as 200h", text)
	case err != nil:
		return err
	case length != math.Trunc(length):
		return fmt.Errorf("%q is not whole hours, such as 200h", text)
	}
	*v = wholeHours(max(math.MinInt32, min(length, math.MaxInt32)))
	return nil
}

func (v wholeHours) count() int32 { return int32(v) }

type changeEquipmentCmd struct {
	command
	Equipment    string      `arg:"" help:"Display name, as it is now."`
	Name         string      `help:"What it is called from now on."`
	Kind         *string     `help:"What it is: sprayer, sander, compressor …" placeholder:"KIND"`
	At           []string    `name:"for" help:"All kinds of stage that it runs at." placeholder:"KIND,…" sep:"none"`
	PerHour      *string     `help:"What an hour of it costs: wear, power, filters." placeholder:"AMOUNT"`
	ServiceEvery *wholeHours `help:"After how many hours it is due for service; 0h: never." placeholder:"TIME"`
	Station      *string     `help:"The station at which alone it runs; an empty one: wherever such a stage is done." placeholder:"STATION"`
	Ran          *wholeHours `help:"How long it had run before it was written down." placeholder:"TIME"`
	Retired      *bool       `help:"It runs no more." negatable:""`
}

func (c *changeEquipmentCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		q, err := c.find(e, shop)
		if err != nil {
			return err
		}
		q.Etag, q.DisplayName = "", cmp.Or(c.Name, q.DisplayName)
		put(&q.Kind, c.Kind, same)
		put(&q.ServiceHours, c.ServiceEvery, wholeHours.count)
		put(&q.StartingHours, c.Ran, wholeHours.count)
		put(&q.Retired, c.Retired, same)
		if c.At != nil {
			q.StageKinds = words(c.At)
		}
		if err := c.change(e, shop, q); err != nil {
			return err
		}
		return saveEquipment(e, shop, &c.command, q)
	})
}

// change puts what an hour costs and where it runs into it, if that was said.
func (c *changeEquipmentCmd) change(e *env, shop *client.Shop, q *materialsv1.Equipment) error {
	if c.PerHour != nil {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		if q.HourlyCost, err = terms.Amount(*c.PerHour); err != nil {
			return err
		}
	}
	if c.Station == nil {
		return nil
	}
	var err error
	q.Station, err = optionalStation(e, shop, *c.Station)
	return err
}

// find finds the equipment. A change that is given again may have changed its name.
func (c *changeEquipmentCmd) find(e *env, shop *client.Shop) (*materialsv1.Equipment, error) {
	q, err := shop.OneEquipment(e.ctx, c.Equipment)
	if err == nil || c.RequestID == "" || c.Name == "" {
		return q, err
	}
	if renamed, again := shop.OneEquipment(e.ctx, c.Name); again == nil {
		return renamed, nil
	}
	return nil, err
}

type listEquipmentCmd struct {
	listOutput
	All bool `help:"Also what runs no more."`
}

func (c *listEquipmentCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Equipment.ListEquipment(e.ctx, &materialsv1.ListEquipmentRequest{ShowRetired: c.All})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printEquipment(e, shop, resp.Lines) })
	})
}

func printEquipment(e *env, shop *client.Shop, lines []*materialsv1.ListEquipmentResponse_Line) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"equipment", "kind", "runs at", "station", " an hour", " ran", " cost", " since service", "serviced", "remark"}}
	for _, l := range lines {
		q := l.GetEquipment()
		t.Add(q.DisplayName, q.Kind, each(q.StageKinds, report.Kind), orDash(bare(q.Station)), report.Money(q.HourlyCost), report.Hours(l.Total), report.Money(l.TotalCost),
			report.Hours(l.SinceService), terms.Clock(l.ServiceTime), equipmentRemark(l))
	}
	return t.Print(e.out)
}

func equipmentRemark(l *materialsv1.ListEquipmentResponse_Line) string {
	var all []string
	if n := l.GetEquipment().GetServiceHours(); n > 0 {
		all = append(all, fmt.Sprintf("every %d h", n))
	}
	if l.ServiceDue {
		all = append(all, "due for service")
	}
	if l.GetEquipment().GetRetired() {
		all = append(all, "runs no more")
	}
	return strings.Join(all, ", ")
}
