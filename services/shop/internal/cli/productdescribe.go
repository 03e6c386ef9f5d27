package cli

import (
	"errors"
	"fmt"
	"strings"

	"google.golang.org/protobuf/proto"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type productCmd struct {
	Describe describeCmd    `cmd:"" help:"Say what a product is: its category, its colour, how long it keeps, what its label warns of. What is not said stays."`
	Rename   renameCmd      `cmd:"" help:"Call a product otherwise."`
	Packages packagesCmd    `cmd:"" help:"Say in which packages a product is sold, in place of those before."`
	Show     showProductCmd `cmd:"" help:"Show a product and what is known of it."`
}

type describeCmd struct {
	command
	Product string `arg:"" help:"Display name."`

	Category    *string    `help:"paint, primer, stain, topcoat, solvent, abrasive, filler, hardware, consumable …" placeholder:"WORD"`
	Density     *gramsPerL `help:"How heavy it is, such as 1.2kg/L or 10lb/gal." placeholder:"DENSITY"`
	FlashPoint  *celsius   `help:"Its flash point, such as 38C or 100F." placeholder:"TEMP"`
	Boiling     *celsius   `help:"Its boiling point." placeholder:"TEMP"`
	KeepsClosed *hour      `help:"How long it keeps from when it came in, such as 730d." placeholder:"TIME"`
	KeepsOpen   *hour      `help:"How long it keeps from when it was opened, such as 90d." placeholder:"TIME"`
	PotLife     *hour      `help:"How long it can be used once it is mixed, such as 4h." placeholder:"TIME"`
	Colour      *string    `help:"Its colour."`
	Sheen       *string    `help:"Its sheen."`
	Maker       *string    `help:"Who makes it."`
	Article     *string    `help:"The maker's number." placeholder:"NUMBER"`
	Spread      *float64   `help:"How many square metres a litre covers, as the maker says." placeholder:"NUMBER"`
	Hazards     *string    `help:"Hazard statements and words of the pictograms, as on the label." placeholder:"TEXT"`
	Ingredients *string    `help:"What is in it, as on the label." placeholder:"TEXT"`
	SafetySheet *string    `help:"Where its safety data sheet is." placeholder:"TEXT"`
	SheetDate   *string    `help:"Of what day that is." placeholder:"DAY"`
	Caution     []string   `help:"A caution that whoever uses it should have read: lead, lead-residue, stripper, dust, fire, oily-rags, vapour, two-part; or several with commas between. An empty one takes all away." placeholder:"ID,…" sep:"none"`
	Note        *string    `help:"What else there is to say of it."`
}

func (c *describeCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		details := p.Details
		if details == nil {
			details = &typev1.ProductDetails{}
		}
		said := proto.CloneOf(details)
		if err := c.change(said); err != nil {
			return err
		}
		if !c.said() {
			return errors.New("say what the product is: --category, --keeps-open, --flash-point …")
		}
		resp, err := shop.Catalogue.DescribeProduct(e.ctx, &materialsv1.DescribeProductRequest{RequestId: c.request(), Product: p.Name, Details: said})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printDetails(e, resp.Product) })
	})
}
