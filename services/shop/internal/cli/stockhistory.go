package cli

import (
	"fmt"
	"slices"
	"strings"
	"time"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type historyCmd struct {
	listOutput
	Product string   `arg:"" optional:"" help:"Display name; without it, of all products."`
	Piece   string   `help:"Only what went to this piece, and came back." placeholder:"TAG"`
	For     []string `help:"Only of this kind: delivery, issue, return, take-back, waste, count, correction, move, opening, closing, mixing, undo; or several with commas between." placeholder:"WHAT,…" sep:"none"`
	From    string   `help:"From this time on." placeholder:"TIME"`
	To      string   `help:"Until this time." placeholder:"TIME"`
}

func (c *historyCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		filter, err := c.filter(e, shop)
		if err != nil {
			return err
		}
		all, err := shop.AllMovements(e.ctx, filter)
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListMovementsResponse{Movements: all}, func() error { return printMovements(e, shop, all) })
	})
}

func (c *historyCmd) filter(e *env, shop *client.Shop) (f *materialsv1.ListMovementsRequest, err error) {
	f = &materialsv1.ListMovementsRequest{}
	if f.Purposes, err = purposes(c.For); err != nil {
		return nil, err
	}
	if f.Product, err = optionalProduct(e, shop, c.Product); err != nil {
		return nil, err
	}
	if f.Piece, err = optionalPiece(e, shop, c.Piece); err != nil {
		return nil, err
	}
	if f.FromTime, err = instant(e.ctx, shop, c.From); err != nil {
		return nil, err
	}
	f.ToTime, err = instant(e.ctx, shop, c.To)
	return f, err
}

// undoing is the purpose of an entry that says of another that it was a slip.
const undoing = "undo"

var knownPurposes = []string{"delivery", "issue", "return", "take back", "waste", "count", "correction", "move", "opening", "closing", "mixing", undoing}

// purposes reads kinds of entries: take-back is "take back".
func purposes(typed []string) (all []string, err error) {
	for _, word := range words(typed) {
		p := strings.ReplaceAll(strings.ToLower(word), "-", " ")
		if !slices.Contains(knownPurposes, p) {
			return nil, fmt.Errorf("%q is none of: %s", word, strings.ReplaceAll(strings.Join(knownPurposes, ", "), "take back", "take-back"))
		}
		all = append(all, p)
	}
	return all, nil
}

// optionalProduct finds a product; none stays absent.
func optionalProduct(e *env, shop *client.Shop, ref string) (string, error) {
	if ref == "" {
		return "", nil
	}
	p, err := shop.Product(e.ctx, ref)
	return p.GetName(), err
}

// optionalPiece finds a piece; none stays absent.
func optionalPiece(e *env, shop *client.Shop, ref string) (string, error) {
	if ref == "" {
		return "", nil
	}
	p, err := shop.Piece(e.ctx, ref)
	return p.GetName(), err
}

func printMovements(e *env, shop *client.Shop, all []*materialsv1.Movement) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	of := newStageWords(e, shop)
	t := &report.Table{Headings: []string{"entry", "when", "what", "product", " amount", " cost", " piece", "stage", "who", "remark"}}
	for _, m := range all {
		tag, title, err := of.of(m.Stage, m.StageKind)
		if err != nil {
			return err
		}
		t.Add(bare(m.Name), terms.Clock(m.Time), m.Purpose, m.ProductName, report.Quantity(m.Quantity), report.Money(m.Cost), tag, title, m.Actor, movementRemark(terms, m))
	}
	return t.Print(e.out)
}

// late is how long after it happened something is noted that somebody wrote down from memory.
const late = time.Minute

// movementRemark is why it was, and what is to be known of when it was noted.
func movementRemark(terms client.Terms, m *materialsv1.Movement) string {
	var all []string
	if m.Undone {
		all = append(all, "undone: it counts as if it had never been")
	}
	if m.Purpose == undoing {
		all = append(all, "of "+bare(m.Of))
	}
	if m.Cause != materialsv1.WasteCause_WASTE_CAUSE_UNSPECIFIED {
		all = append(all, enumWord("WASTE_CAUSE_", m.Cause.String()))
	}
	if m.Reason != "" {
		all = append(all, m.Reason)
	}
	if m.RecordTime.AsTime().Sub(m.Time.AsTime()) > late {
		all = append(all, "noted "+terms.Clock(m.RecordTime))
	}
	switch {
	case m.Recosted == 1:
		all = append(all, "counted anew once, for what was noted after it of an earlier time")
	case m.Recosted > 1:
		all = append(all, fmt.Sprintf("counted anew %d times, for what was noted after it of earlier times", m.Recosted))
	}
	return strings.Join(all, "; ")
}

type stockPolicyCmd struct {
	command
	Method string `arg:"" optional:"" help:"first-in-first-out: what came in first goes out first, at its cost; or moving-average: at the average of all that is there. Without it, the policy is shown."`
}

func (c *stockPolicyCmd) Run(e *env) error {
	if c.Method == "" {
		return c.show(e)
	}
	method, err := readEnum[materialsv1.CostMethod]("COST_METHOD_", c.Method, materialsv1.CostMethod_value)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Stock.SetStockPolicy(e.ctx, &materialsv1.SetStockPolicyRequest{RequestId: c.request(), CostMethod: method})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return sayPolicy(e, resp.Policy) })
	})
}

func (c *stockPolicyCmd) show(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Stock.GetStockPolicy(e.ctx, &materialsv1.GetStockPolicyRequest{})
		if err != nil {
			return err
		}
		return c.output.print(e, resp, func() error { return sayPolicy(e, resp.Policy) })
	})
}

func sayPolicy(e *env, p *materialsv1.StockPolicy) error {
	until := "it can be changed until something has come in"
	if p.GetSettled() {
		until = "something has come in, so it stays"
	}
	_, err := fmt.Fprintf(e.out, "Stock is costed %s; %s.\n", map[materialsv1.CostMethod]string{
		materialsv1.CostMethod_COST_METHOD_FIRST_IN_FIRST_OUT: "first in, first out",
		materialsv1.CostMethod_COST_METHOD_MOVING_AVERAGE:     "at the moving average",
	}[p.GetCostMethod()], until)
	return err
}
