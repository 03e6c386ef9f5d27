package cli

import (
	"context"
	"fmt"
	"strings"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type floorWhatIfCmd struct {
	listOutput
	Away    []string `help:"Somebody is away, on a day or from one to another: Nell=2026-03-02..2026-03-04." placeholder:"NAME=DAY..DAY" sep:"none"`
	Promise []string `help:"A piece is promised for another time, '14=2026-03-06 17:00', or day, until the shop closes on it: 14=2026-03-06." placeholder:"TAG=TIME" sep:"none"`
	New     []string `help:"A piece comes in that takes a route, promised for a time or a day or, without one, to nobody: 'painted=2026-03-06 17:00'." placeholder:"ROUTE=TIME" sep:"none"`
}

func (c *floorWhatIfCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r, err := c.supposed(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Planning.CheckWhatIf(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			if err := printChanges(e, shop, resp.Changes); err != nil {
				return err
			}
			printLeftOut(e, resp)
			return printMoves(e, shop, resp.Plan, "Elsewhere than in the plan of now", "is")
		})
	})
}

// printLeftOut says why pieces that would change have no place.
func printLeftOut(e *env, r *workflowv1.CheckWhatIfResponse) {
	changed := map[string]bool{}
	for _, c := range r.GetChanges() {
		if c.After != nil && c.After.EndTime == nil {
			changed[c.After.Piece] = true
		}
	}
	for _, u := range r.GetPlan().GetUnplaced() {
		switch {
		case !changed[u.Piece]:
		case u.PieceTag == 0:
			fmt.Fprintf(e.out, "What is new: %s\n", u.Text)
		default:
			fmt.Fprintf(e.out, "Piece %d: %s\n", u.PieceTag, u.Text)
		}
	}
}

// supposed reads what would be otherwise.
func (c *floorWhatIfCmd) supposed(ctx context.Context, shop *client.Shop) (*workflowv1.CheckWhatIfRequest, error) {
	r := &workflowv1.CheckWhatIfRequest{}
	for _, text := range c.Away {
		a, err := readAway(ctx, shop, text)
		if err != nil {
			return nil, err
		}
		r.Absences = append(r.Absences, a)
	}
	for _, text := range c.Promise {
		tag, at, err := atTime(ctx, shop, text)
		if err != nil {
			return nil, err
		}
		if at == nil {
			return nil, fmt.Errorf("%q is not a piece and its promise, such as '14=2026-03-06 17:00'", text)
		}
		p, err := shop.Piece(ctx, tag)
		if err != nil {
			return nil, err
		}
		r.Promises = append(r.Promises, &workflowv1.CheckWhatIfRequest_Promise{Piece: p.Name, PromiseTime: at})
	}
	for _, text := range c.New {
		route, at, err := atTime(ctx, shop, text)
		if err != nil {
			return nil, err
		}
		r.Newcomers = append(r.Newcomers, &workflowv1.CheckWhatIfRequest_Newcomer{Route: "routes/" + strings.TrimPrefix(route, "routes/"), PromiseTime: at})
	}
	return r, nil
}

// readAway reads NAME=DAY or NAME=DAY..DAY.
func readAway(ctx context.Context, shop *client.Shop, text string) (*workflowv1.CheckWhatIfRequest_Absence, error) {
	name, days, given := strings.Cut(text, "=")
	if !given {
		return nil, fmt.Errorf("%q is not somebody and the days they are away, such as Nell=2026-03-02..2026-03-04", text)
	}
	who, err := shop.Person(ctx, name)
	if err != nil {
		return nil, err
	}
	a := &workflowv1.CheckWhatIfRequest_Absence{Person: who.Name}
	first, last, _ := strings.Cut(days, "..")
	if a.FirstDate, err = client.Day(first); err != nil {
		return nil, err
	}
	a.LastDate, err = client.Day(last)
	return a, err
}

// atTime reads WHAT=TIME; without a time it is absent.
func atTime(ctx context.Context, shop *client.Shop, text string) (what string, at *timestamppb.Timestamp, err error) {
	what, when, _ := strings.Cut(text, "=")
	at, err = shop.Until(ctx, when)
	return what, at, err
}

// printChanges prints what becomes of pieces now, and what would.
func printChanges(e *env, shop *client.Shop, changes []*workflowv1.CheckWhatIfResponse_Change) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	if len(changes) == 0 {
		fmt.Fprintln(e.out, "Nothing would be done at another time.")
		return nil
	}
	t := &report.Table{Headings: []string{" piece", "promised", "done now", "done then", " chance now", " chance then"}}
	for _, c := range changes {
		piece, done, before := fmt.Sprint(c.After.GetPieceTag()), "–", "–"
		if c.After.GetPiece() == "" {
			piece = c.After.GetPieceTitle()
		}
		if c.Before != nil {
			done, before = doneByPlan(terms, c.Before), chanceOf(c.Before)
		}
		t.Add(piece, clockOrDash(terms, c.After.GetPromiseTime()), done, doneByPlan(terms, c.After), before, chanceOf(c.After))
	}
	return t.Print(e.out)
}

// clockOrDash is an instant in the shop's zone; absent, a dash.
func clockOrDash(terms client.Terms, at *timestamppb.Timestamp) string {
	if at == nil {
		return "–"
	}
	return terms.Clock(at)
}
