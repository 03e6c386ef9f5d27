package cli

import (
	"context"
	"errors"
	"fmt"

	"github.com/shopspring/decimal"

	"tackfree/pkg/money"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type issueCmd struct {
	timed
	Product  string `arg:"" help:"Display name."`
	Quantity string `arg:"" help:"How much, such as 120mL."`
	Piece    string `arg:"" optional:"" help:"Tag number."`
	Stage    string `arg:"" optional:"" help:"Title, such as 'sand (top)', or the key where only one stage has it."`
	Batch    string `help:"In place of piece and stage: all stages of this batch, over which it is split." placeholder:"NAME"`
	Lot      string `help:"The lot that it was taken from, by its id, the maker's number, or 'mix 12' as on the lid; without it, what came in first." placeholder:"LOT"`
	Override string `help:"Why it is used though it has expired." placeholder:"REASON"`
}

func (c *issueCmd) Run(e *env) error {
	if (c.Batch == "") != (c.Piece != "" && c.Stage != "") || c.Batch != "" && c.Piece != "" {
		return errors.New("say the piece and its stage, or --batch")
	}
	r := &materialsv1.IssueMaterialRequest{RequestId: c.request(), OverrideReason: c.Override}
	var err error
	if r.Quantity, err = quantity(c.Quantity); err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		p, err := c.find(e, shop, r)
		switch {
		case err != nil:
			return err
		case c.Batch != "":
			return c.toBatch(e, shop, r)
		}
		return c.toStage(e, shop, p, r)
	})
}

// find finds what is issued, and reads when.
func (c *issueCmd) find(e *env, shop *client.Shop, r *materialsv1.IssueMaterialRequest) (*materialsv1.Product, error) {
	p, err := shop.Product(e.ctx, c.Product)
	if err != nil {
		return nil, err
	}
	r.Product = p.Name
	if r.IssueTime, err = c.at(e.ctx, shop); err != nil {
		return nil, err
	}
	r.Lot, err = optionalLot(e, shop, p, c.Lot)
	return p, err
}

// toStage issues to one stage.
func (c *issueCmd) toStage(e *env, shop *client.Shop, p *materialsv1.Product, r *materialsv1.IssueMaterialRequest) error {
	stage, err := stageArgs{c.Piece, c.Stage}.find(e.ctx, shop)
	if err != nil {
		return err
	}
	r.Stage = stage.Name
	resp, err := shop.Materials.IssueMaterial(e.ctx, r)
	if err != nil {
		return err
	}
	defer noteClosed(e, shop, r.IssueTime)
	return c.print(e, resp, func() error {
		fmt.Fprintf(e.out, "%s of %s went to %s%s; %s left.\n", report.Quantity(resp.Issue.GetQuantity()), p.DisplayName,
			client.Title(stage), report.Behind(" for ", resp.Issue.GetCost()), report.Quantity(resp.Product.GetOnHand()))
		return sayRecosted(e, shop, resp.Recostings)
	})
}

// toBatch issues to all stages of a batch what would go to one.
func (c *issueCmd) toBatch(e *env, shop *client.Shop, one *materialsv1.IssueMaterialRequest) error {
	b, err := shop.Batch(e.ctx, c.Batch)
	if err != nil {
		return err
	}
	resp, err := shop.Materials.IssueToBatch(e.ctx, &materialsv1.IssueToBatchRequest{RequestId: one.RequestId, Batch: b.Name, Product: one.Product,
		Quantity: one.Quantity, IssueTime: one.IssueTime, Lot: one.Lot, OverrideReason: one.OverrideReason})
	if err != nil {
		return err
	}
	defer noteClosed(e, shop, one.IssueTime)
	return c.print(e, resp, func() error {
		if err := printIssues(e, shop, resp.Issues); err != nil {
			return err
		}
		return sayRecostedBelow(e, shop, resp.Recostings)
	})
}

type takeBackCmd struct {
	timed
	Issue  string `arg:"" help:"The issue's id, as the list shows it."`
	Reason string `help:"Why." required:""`
}

func (c *takeBackCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		issue, err := shop.Issue(e.ctx, c.Issue)
		if err != nil {
			return err
		}
		r := &materialsv1.TakeBackIssueRequest{RequestId: c.request(), Issue: issue, Reason: c.Reason}
		if r.TakeBackTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Materials.TakeBackIssue(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, resp.GetIssue().GetIssueTime())
		return c.print(e, resp, func() error { return sayTakenBack(e, shop, resp) })
	})
}

func sayTakenBack(e *env, shop *client.Shop, r *materialsv1.TakeBackIssueResponse) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	was, cost, err := stillOut(r.Issue, terms.Currency)
	if err != nil {
		return err
	}
	fmt.Fprintf(e.out, "%s of %s are on the shelf again, worth %s; %s on hand.\n", report.Quantity(was), r.Issue.GetProductName(),
		terms.Currency.Format(cost), report.Quantity(r.Product.GetOnHand()))
	return sayRecosted(e, shop, r.Recostings)
}

// stillOut is what had not come back of an issue, and what that cost.
func stillOut(i *materialsv1.Issue, c money.Currency) (*typev1.Quantity, money.Amount, error) {
	cost := amountOf(i.GetCost(), c)
	if i.GetReturned() == nil {
		return i.GetQuantity(), cost, nil
	}
	issued, err := decimal.NewFromString(i.GetQuantity().GetValue())
	if err != nil {
		return nil, 0, err
	}
	returned, err := decimal.NewFromString(i.Returned.Value)
	if err != nil {
		return nil, 0, err
	}
	return &typev1.Quantity{Value: issued.Sub(returned).String(), Unit: i.Quantity.Unit}, cost - amountOf(i.ReturnedCost, c), nil
}

type listIssuesCmd struct {
	listOutput
	Product string `help:"Only of this product." placeholder:"NAME"`
	Piece   string `help:"Only to this piece." placeholder:"TAG"`
}

func (c *listIssuesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		filter := &materialsv1.ListIssuesRequest{PageSize: 1000}
		var err error
		if filter.Product, err = optionalProduct(e, shop, c.Product); err != nil {
			return err
		}
		if filter.Piece, err = optionalPiece(e, shop, c.Piece); err != nil {
			return err
		}
		issues, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Issue, string, error) {
			filter.PageToken = token
			r, err := shop.Materials.ListIssues(ctx, filter)
			return r.GetIssues(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListIssuesResponse{Issues: issues}, func() error { return printIssues(e, shop, issues) })
	})
}

func printIssues(e *env, shop *client.Shop, issues []*materialsv1.Issue) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	tags, err := tagsOf(e, shop)
	if err != nil {
		return err
	}
	titles := client.NewTitles(shop)
	t := &report.Table{Headings: []string{"issue", "when", "who", "product", " amount", " cost", " piece", "stage", " pass", "remark"}}
	for _, i := range issues {
		title, err := titleOf(e, titles, i.Stage, i.StageKind)
		if err != nil {
			return err
		}
		t.Add(bare(i.Name), terms.Clock(i.IssueTime), i.Actor, i.ProductName, report.Quantity(i.Quantity), report.Money(i.Cost),
			tags[pieceOf(i.Stage)], title, fmt.Sprint(i.Pass), issueRemark(i))
	}
	return t.Print(e.out)
}

// issueRemark is what became of an issue, and why it was made of what had expired.
func issueRemark(i *materialsv1.Issue) string {
	switch {
	case i.TakenBack:
		return "taken back: " + i.TakeBackReason
	case i.Returned != nil && i.OverrideReason != "":
		return fmt.Sprintf("%s came back; expired: %s", report.Quantity(i.Returned), i.OverrideReason)
	case i.Returned != nil:
		return report.Quantity(i.Returned) + " came back"
	case i.OverrideReason != "":
		return "expired: " + i.OverrideReason
	}
	return ""
}
