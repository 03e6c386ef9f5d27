package cli

import (
	"context"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type serviceCmd struct {
	timed
	Equipment string `arg:"" help:"Display name."`
	By        string `help:"Who did it: a name or a firm." required:"" placeholder:"NAME"`
	Note      string `help:"What was done."`
	Cost      string `help:"What it cost, as people write it; it goes into no books." placeholder:"TEXT"`
}

func (c *serviceCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		q, err := shop.OneEquipment(e.ctx, c.Equipment)
		if err != nil {
			return err
		}
		r := &materialsv1.RecordServiceRequest{RequestId: c.request(), Equipment: q.Name, ServicedBy: c.By, Note: c.Note, CostNote: c.Cost}
		if r.ServiceTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Equipment.RecordService(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printServices(e, shop, []*materialsv1.Service{resp.Service}) })
	})
}

type listServicesCmd struct {
	listOutput
	Equipment string `arg:"" help:"Display name."`
}

func (c *listServicesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		q, err := shop.OneEquipment(e.ctx, c.Equipment)
		if err != nil {
			return err
		}
		all, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Service, string, error) {
			r, err := shop.Equipment.ListServices(ctx, &materialsv1.ListServicesRequest{Equipment: q.Name, PageSize: 1000, PageToken: token})
			return r.GetServices(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListServicesResponse{Services: all}, func() error { return printServices(e, shop, all) })
	})
}

func printServices(e *env, shop *client.Shop, all []*materialsv1.Service) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"serviced", "by", "cost", "noted by", "note"}}
	for _, s := range all {
		t.Add(terms.Clock(s.ServiceTime), s.ServicedBy, orDash(s.CostNote), s.Actor, s.Note)
	}
	return t.Print(e.out)
}

type equipmentHoursCmd struct {
	listOutput
	Piece string `arg:"" help:"Tag number."`
}

func (c *equipmentHoursCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Equipment.ListEquipmentUse(e.ctx, &materialsv1.ListEquipmentUseRequest{Piece: p.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			t := &report.Table{Headings: []string{"equipment", " ran", " cost"}}
			for _, l := range resp.Lines {
				t.Add(l.DisplayName, report.Hours(l.Used), report.Money(l.Cost))
			}
			t.Add()
			t.Add("all", "", report.Money(resp.TotalCost))
			return t.Print(e.out)
		})
	})
}
