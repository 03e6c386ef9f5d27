package cli

import (
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type listListingsCmd struct{ listOutput }

func (c *listListingsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		listings, err := shop.AllListings(e.ctx)
		if err != nil {
			return err
		}
		return c.print(e, &salesv1.ListListingsResponse{Listings: listings}, func() error {
			pieces, err := shop.AllPieces(e.ctx)
			if err != nil {
				return err
			}
			return printListings(e, pieces, listings)
		})
	})
}

func printListing(e *env, p *intakev1.Piece, l *salesv1.Listing) error {
	return printListings(e, []*intakev1.Piece{p}, []*salesv1.Listing{l})
}

// printListings prints what sales knows, with what intake knows of the same pieces.
func printListings(e *env, pieces []*intakev1.Piece, listings []*salesv1.Listing) error {
	byName := map[string]*intakev1.Piece{}
	for _, p := range pieces {
		byName[p.Name] = p
	}
	t := &report.Table{Headings: []string{" tag", "state", "channel", " asking", " sold for", " tax", " fee", " given back", "buyer"}}
	for _, l := range listings {
		row := []string{fmt.Sprint(l.Tag), listedState(byName[l.Piece], l), l.Channel, report.Money(l.AskingPrice), "–", "–", "–", "–", ""}
		if n := len(l.Sales); n > 0 {
			s := l.Sales[n-1]
			row[4], row[5], row[6], row[7], row[8] = report.Money(s.Price), report.Money(s.Tax), report.Money(s.Fee), report.Money(s.PriceRefunded), s.Buyer
		}
		t.Add(row...)
	}
	return t.Print(e.out)
}

// listedState is that of the piece once it is scrapped or invoiced, else what sales says.
func listedState(p *intakev1.Piece, l *salesv1.Listing) string {
	if s := stateOf(p, l.State); s == "scrapped" || s == "invoiced" {
		return s
	}
	return report.State(l.State.String())
}

type showSalesCmd struct {
	listOutput
	Piece string `arg:"" help:"Tag number."`
}

func (c *showSalesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Sales.GetListing(e.ctx, &salesv1.GetListingRequest{Name: listingOf(p.Name)})
		if err != nil {
			return err
		}
		return c.print(e, resp.Listing, func() error { return printSales(e, shop, resp.Listing.GetSales()) })
	})
}

func printSales(e *env, shop *client.Shop, sales []*salesv1.Sale) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"sale", "when", "channel", "buyer", " price", " tax", " fee", " price back", " tax back", " fee back", "remark"}}
	for _, s := range sales {
		var remarks []string
		if s.Set != "" {
			remarks = append(remarks, "in a set")
		}
		if s.PieceReturned {
			remarks = append(remarks, "the piece came back")
		}
		if due := s.GetDue(); due.GetUnits() != 0 || due.GetNanos() != 0 {
			remarks = append(remarks, report.Money(due)+" is due")
		}
		t.Add(bare(s.Name), terms.Clock(s.SaleTime), s.Channel, s.Buyer, report.Money(s.Price), report.Money(s.Tax), report.Money(s.Fee),
			report.Money(s.PriceRefunded), report.Money(s.TaxRefunded), report.Money(s.FeeReturned), strings.Join(remarks, "; "))
	}
	return t.Print(e.out)
}
