package cli

import (
	"fmt"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type supplierCmd struct {
	Add    addSupplierCmd    `cmd:"" help:"Add somebody whom the shop buys from."`
	Change changeSupplierCmd `cmd:"" help:"Say something else of a supplier; what is not said stays."`
	List   listSuppliersCmd  `cmd:"" help:"List whom the shop buys from."`
	Show   showSupplierCmd   `cmd:"" help:"Show a supplier and what they ask."`
	Offer  supplierOfferCmd  `cmd:"" help:"What suppliers ask for packages of products."`
}

type addSupplierCmd struct {
	command
	Name     string `arg:"" help:"Display name."`
	LeadDays int32  `help:"How many days a delivery usually takes from the order on." placeholder:"DAYS"`
	Note     string `help:"What there is to say of them."`
}

func (c *addSupplierCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Suppliers.AddSupplier(e.ctx, &materialsv1.AddSupplierRequest{RequestId: c.request(), DisplayName: c.Name, LeadDays: c.LeadDays, Note: c.Note})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printSuppliers(e, []*materialsv1.Supplier{resp.Supplier}) })
	})
}

type changeSupplierCmd struct {
	command
	Supplier string  `arg:"" help:"Display name, as it is now."`
	Name     string  `help:"What they are called from now on."`
	LeadDays *int32  `help:"How many days a delivery usually takes from the order on." placeholder:"DAYS"`
	Note     *string `help:"What there is to say of them."`
	Retired  *bool   `help:"Nothing more is bought there." negatable:""`
}

func (c *changeSupplierCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		known, err := c.find(e, shop)
		if err != nil {
			return err
		}
		r := &materialsv1.ChangeSupplierRequest{RequestId: c.request(), Supplier: known.Name, DisplayName: known.DisplayName, LeadDays: known.LeadDays,
			Note: known.Note, Retired: known.Retired}
		if c.Name != "" {
			r.DisplayName = c.Name
		}
		put(&r.LeadDays, c.LeadDays, same)
		put(&r.Note, c.Note, same)
		put(&r.Retired, c.Retired, same)
		resp, err := shop.Suppliers.ChangeSupplier(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printSuppliers(e, []*materialsv1.Supplier{resp.Supplier}) })
	})
}

// find finds the supplier. A change that is given again may have changed their name.
func (c *changeSupplierCmd) find(e *env, shop *client.Shop) (*materialsv1.Supplier, error) {
	s, err := shop.Supplier(e.ctx, c.Supplier)
	if err == nil || c.RequestID == "" || c.Name == "" {
		return s, err
	}
	if renamed, again := shop.Supplier(e.ctx, c.Name); again == nil {
		return renamed, nil
	}
	return nil, err
}

type listSuppliersCmd struct {
	listOutput
	All bool `help:"Also those where nothing more is bought."`
}

func (c *listSuppliersCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		all, err := shop.AllSuppliers(e.ctx, c.All)
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListSuppliersResponse{Suppliers: all}, func() error { return printSuppliers(e, all) })
	})
}

func printSuppliers(e *env, all []*materialsv1.Supplier) error {
	t := &report.Table{Headings: []string{"supplier", " delivers in", "", "note"}}
	for _, s := range all {
		retired := ""
		if s.Retired {
			retired = "retired"
		}
		t.Add(s.DisplayName, fmt.Sprintf("%d days", s.LeadDays), retired, s.Note)
	}
	return t.Print(e.out)
}

type showSupplierCmd struct {
	listOutput
	Supplier string `arg:"" help:"Display name."`
}

func (c *showSupplierCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		s, err := shop.Supplier(e.ctx, c.Supplier)
		if err != nil {
			return err
		}
		resp, err := shop.Suppliers.GetSupplier(e.ctx, &materialsv1.GetSupplierRequest{Name: s.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			if err := printSuppliers(e, []*materialsv1.Supplier{resp.Supplier}); err != nil {
				return err
			}
			offers, err := offersOf(e, shop, &materialsv1.ListOffersRequest{Supplier: s.Name})
			if err != nil {
				return err
			}
			fmt.Fprintln(e.out)
			return printOffers(e, offers)
		})
	})
}
