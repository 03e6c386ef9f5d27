package cli

import (
	"context"
	"fmt"
	"strings"
	"time"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type boardCmd struct {
	listOutput
	State   []string `help:"Only pieces in this state: in-work, ready, drying, away, unplanned, done or scrapped; without it, all but done and scrapped ones. Repeat for each." placeholder:"STATE" sep:"none"`
	Station string   `help:"Only pieces of which something stands at this station." placeholder:"STATION"`
	Who     string   `help:"Only pieces with a stage of this person's, or at which they are on the clock." placeholder:"NAME"`
	Kind    string   `help:"Only pieces of which a stage of this kind is next." placeholder:"KIND"`
}

func (c *boardCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		filter, err := c.filter(e, shop)
		if err != nil {
			return err
		}
		all := &workflowv1.ListBoardResponse{}
		all.Lines, err = client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.BoardLine, string, error) {
			filter.PageToken = token
			r, err := shop.Floor.ListBoard(ctx, filter)
			if all.Position == "" {
				all.Position = r.GetPosition()
			}
			return r.GetLines(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, all, func() error { return printBoard(e, shop, all.Lines) })
	})
}

func (c *boardCmd) filter(e *env, shop *client.Shop) (*workflowv1.ListBoardRequest, error) {
	r := &workflowv1.ListBoardRequest{StageKind: strings.ReplaceAll(c.Kind, " ", "_"), PageSize: 1000}
	for _, word := range words(c.State) {
		state, err := readEnum[workflowv1.BoardLine_State]("STATE_", word, workflowv1.BoardLine_State_value)
		if err != nil {
			return nil, err
		}
		r.States = append(r.States, state)
	}
	if c.Who != "" {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return nil, err
		}
		r.Person = who.Name
	}
	var err error
	r.Station, err = optionalStation(e, shop, c.Station)
	return r, err
}

// stateColours are those of what a piece is in; of others none.
var stateColours = map[workflowv1.BoardLine_State]string{
	workflowv1.BoardLine_STATE_IN_WORK: inWorkColour, workflowv1.BoardLine_STATE_DRYING: dryingColour, workflowv1.BoardLine_STATE_READY: readyColour,
	workflowv1.BoardLine_STATE_AWAY: awayColour, workflowv1.BoardLine_STATE_DONE: quietColour, workflowv1.BoardLine_STATE_SCRAPPED: quietColour,
}

func printBoard(e *env, shop *client.Shop, lines []*workflowv1.BoardLine) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" piece", "state", " done", "next", "where", "promised", " value"}}
	for _, l := range lines {
		t.Add(fmt.Sprint(l.PieceTag), e.paint.in(stateColours[l.State], boardState(l)), doneOf(l),
			each(l.Next, func(n *workflowv1.BoardLine_Next) string { return nextOf(terms, n) }), places(l.Placements), e.paint.late(l.PromiseTime, time.Now(), terms.Clock(l.PromiseTime)), report.Money(l.Value))
	}
	return t.Print(e.out)
}

// boardState is the state of a piece; of one that others have, also that it was given up.
func boardState(l *workflowv1.BoardLine) string {
	state := report.State(l.State.String())
	if l.Scrapped && l.State != workflowv1.BoardLine_STATE_SCRAPPED {
		state += ", given up"
	}
	return state
}

// doneOf is how many of a piece's stages are finished; of one that nobody planned a dash.
func doneOf(l *workflowv1.BoardLine) string {
	if l.Stages == 0 {
		return "–"
	}
	return fmt.Sprintf("%d/%d", l.FinishedStages, l.Stages)
}

// nextOf writes what is next with a piece, and who has it, that it is away or until when it dries.
func nextOf(terms client.Terms, n *workflowv1.BoardLine_Next) string {
	text := n.Title
	switch {
	case len(n.OnTheClock) > 0:
		text += ": " + strings.Join(n.OnTheClock, " and ") + " at it"
	case n.State == workflowv1.Stage_STATE_AWAY:
		text += ": away"
	case n.ReadyTime != nil:
		text += ": dries until " + terms.Clock(n.ReadyTime)
	case len(n.Assigned) > 0:
		text += ": " + strings.Join(n.Assigned, " and ")
	}
	if n.WindowCloseTime != nil {
		text += ", to be coated by " + terms.Clock(n.WindowCloseTime)
	}
	return text
}
