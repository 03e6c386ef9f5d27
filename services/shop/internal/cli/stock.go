package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"google.golang.org/protobuf/proto"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type stockCmd struct {
	Add       addProductCmd  `cmd:"" help:"Give a product a place on the shelf."`
	List      listStockCmd   `cmd:"" help:"List what is on hand, what is reserved, how many days it lasts and what is low."`
	Lots      lotsCmd        `cmd:"" help:"List the lots of a product, oldest first."`
	Show      showProductCmd `cmd:"" help:"Show a product and what its data sheet says."`
	Sheet     sheetCmd       `cmd:"" help:"Say what the data sheet of a coating says, so that it can be planned and computed with; or --none."`
	Threshold thresholdCmd   `cmd:"" help:"Set below which amount a product is low."`
	Receive   receiveCmd     `cmd:"" help:"Receive a product, a bill of several, or what was ordered."`
	FixCost   fixCostCmd     `cmd:"" help:"Say what a lot really cost, where the bill was another; what was made of it is counted anew."`
	Issue     issueCmd       `cmd:"" help:"Issue material to a piece and stage; oldest lots go first."`
	Issues    listIssuesCmd  `cmd:"" help:"List what was issued, newest first."`
	TakeBack  takeBackCmd    `cmd:"" help:"Take a whole issue back, as if it had not been; the right amount can then be issued."`
	Return    returnCmd      `cmd:"" help:"Put a part of an issue back that was not used, at what it was issued for."`
	Waste     wasteCmd       `cmd:"" help:"Write down what was thrown away or lost."`
	Count     countCmd       `cmd:"" help:"Write down how much is really there."`
	Open      openCmd        `cmd:"" help:"Open a lot or a part of it: it keeps for a shorter time, and goes before the rest."`
	Move      moveLotCmd     `cmd:"" help:"Put a lot, or a part of it, in another place."`
	Close     closeLotCmd    `cmd:"" help:"Use nothing more of a lot, such as paint that has skinned over; undo that to use it again."`
	History   historyCmd     `cmd:"" help:"List all that came and went, newest first, and what was counted anew since."`
	Undo      undoCmd        `cmd:"" help:"It was a slip: an entry counts as if it had never been, and what hung on it follows."`
	Policy    stockPolicyCmd `cmd:"" help:"Show or choose how stock is costed; it stays once something has come in."`
	Needs     listNeedsCmd   `cmd:"" help:"List what planned stages take."`
	Usage     usageCmd       `cmd:"" help:"Show what stages took beside what was planned, and what the shop takes therefore."`
	Restock   restockCmd     `cmd:"" help:"What to order by when, and how the shop buys."`
	Orders    ordersCmd      `cmd:"" help:"What suppliers were asked for."`
	Alerts    alertsCmd      `cmd:"" help:"List what somebody should do something about; or --watch."`
	Import    importStockCmd `cmd:"" help:"Take products, or with --offers what suppliers ask, over from a table of values separated by commas: all of it, or nothing."`
	Export    exportStockCmd `cmd:"" help:"Write all products, or with --offers what suppliers ask, as a table of values separated by commas."`
}

type listStockCmd struct {
	listOutput
	Category string `help:"Only of this category: paint, solvent, abrasive …" placeholder:"WORD"`
	Search   string `help:"Only those with this in their name, colour, maker or article number." placeholder:"TEXT"`
	Lots     bool   `help:"Show the lots of each." xor:"what"`
	Expiring *int32 `help:"In place of products: the lots that expire within so many days; 0: those that have." placeholder:"DAYS" xor:"what"`
}

func (c *listStockCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		if c.Expiring != nil {
			return c.expiring(e, shop)
		}
		products, err := c.products(e, shop)
		if err != nil {
			return err
		}
		if c.Lots {
			return c.lots(e, shop, products)
		}
		if c.CSV {
			return writeRows(e.out, &materialsv1.ListProductsResponse{Products: products})
		}
		advice, err := shop.Restock.ListRestockAdvice(e.ctx, &materialsv1.ListRestockAdviceRequest{})
		if err != nil {
			return err
		}
		if c.JSON {
			return writeStock(e, products, "advice", advice.Advice)
		}
		return printStock(e, products, advice.Advice)
	})
}

func (c *listStockCmd) products(e *env, shop *client.Shop) ([]*materialsv1.Product, error) {
	return client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Product, string, error) {
		r, err := shop.Materials.ListProducts(ctx, &materialsv1.ListProductsRequest{Category: c.Category, Search: c.Search, PageSize: 1000, PageToken: token})
		return r.GetProducts(), r.GetNextPageToken(), err
	})
}

// writeStock writes products as JSON, and beside them what else is known of them.
func writeStock[M proto.Message](e *env, products []*materialsv1.Product, beside string, all []M) error {
	known, err := rawJSONs(products)
	if err != nil {
		return err
	}
	more, err := rawJSONs(all)
	if err != nil {
		return err
	}
	b, err := json.Marshal(map[string]any{"products": known, beside: more})
	if err != nil {
		return err
	}
	return writeJSON(e.out, b)
}

func printStock(e *env, products []*materialsv1.Product, all []*materialsv1.RestockAdvice) error {
	advice := map[string]*materialsv1.RestockAdvice{}
	for _, a := range all {
		advice[a.Product] = a
	}
	t := &report.Table{Headings: []string{"product", " on hand", " reserved", " on order", " lasts", " value", " low below", "", "coating"}}
	for _, p := range products {
		a := advice[p.Name]
		t.Add(p.DisplayName, report.Quantity(p.OnHand), report.Quantity(a.GetReserved()), report.Quantity(a.GetOnOrder()), cover(a),
			report.Money(p.Value), report.Quantity(p.RestockThreshold), lowWord(p), coatingOf(p))
	}
	return t.Print(e.out)
}

// aYear is as many days of cover as advice counts.
const aYear = 365

// cover is how long what is on hand lasts; nobody can tell where nothing is known of its use.
func cover(a *materialsv1.RestockAdvice) string {
	unused := none(a.GetUseADay()) && none(a.GetReserved())
	switch {
	case a == nil, a.DaysOfCover >= aYear && unused:
		return "–"
	case a.DaysOfCover >= aYear:
		return "a year"
	}
	return fmt.Sprintf("%d days", a.DaysOfCover)
}

// none reports no amount at all.
func none(q *typev1.Quantity) bool { return strings.Trim(q.GetValue(), "0.") == "" }

func lowWord(p *materialsv1.Product) string {
	if p.Low {
		return "low"
	}
	return ""
}

// lots lists the lots of all these products.
func (c *listStockCmd) lots(e *env, shop *client.Shop, products []*materialsv1.Product) error {
	var all []*materialsv1.Lot
	of := map[*materialsv1.Lot]string{}
	for _, p := range products {
		lots, err := shop.AllLots(e.ctx, p.Name, false)
		if err != nil {
			return err
		}
		for _, l := range lots {
			of[l] = p.DisplayName
		}
		all = append(all, lots...)
	}
	switch {
	case c.CSV:
		return writeRows(e.out, &materialsv1.ListLotsResponse{Lots: all})
	case c.JSON:
		return writeStock(e, products, "lots", all)
	}
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"product", "lot", "received", " left", " cost left", "usable until", "stands at", "remark"}}
	for _, l := range all {
		t.Add(of[l], bare(l.Name), terms.Clock(l.ReceiveTime), report.Quantity(l.Left), report.Money(l.CostLeft), until(terms, l.ExpireTime),
			orDash(bare(l.Place)), lotRemark(l))
	}
	return t.Print(e.out)
}

// expiring lists the lots that expire, expired ones first.
func (c *listStockCmd) expiring(e *env, shop *client.Shop) error {
	lots, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.ExpiringLot, string, error) {
		r, err := shop.Storage.ListExpiring(ctx, &materialsv1.ListExpiringRequest{Days: *c.Expiring, PageSize: 1000, PageToken: token})
		return r.GetLots(), r.GetNextPageToken(), err
	})
	if err != nil {
		return err
	}
	return c.print(e, &materialsv1.ListExpiringResponse{Lots: lots}, func() error {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		t := &report.Table{Headings: []string{"usable until", "product", "lot", " left", " worth", "stands at", "remark"}}
		for _, l := range lots {
			t.Add(until(terms, l.ExpireTime), l.ProductName, bare(l.Lot), report.Quantity(l.Left), report.Money(l.Value), orDash(bare(l.Place)), expiryRemark(l))
		}
		return t.Print(e.out)
	})
}

func expiryRemark(l *materialsv1.ExpiringLot) string {
	var all []string
	for _, r := range []struct {
		holds bool
		text  string
	}{{l.Expired, "expired"}, {l.Open, "open"}, {l.Closed, "closed"}} {
		if r.holds {
			all = append(all, r.text)
		}
	}
	return strings.Join(all, ", ")
}

type lotsCmd struct {
	listOutput
	Product string `arg:"" help:"Display name."`
	All     bool   `help:"Show used-up lots too."`
}

func (c *lotsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		lots, err := shop.AllLots(e.ctx, p.Name, c.All)
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListLotsResponse{Lots: lots}, func() error { return printLots(e, shop, lots) })
	})
}
