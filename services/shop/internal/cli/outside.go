package cli

import (
	"fmt"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type outsideCmd struct {
	Send  sendOutCmd     `cmd:"" help:"Send a piece or a part out for work that others do: upholstery, caning, stone, mirror."`
	Chase chaseCmd       `cmd:"" help:"Write down that somebody asked after it."`
	Back  backCmd        `cmd:"" help:"It is back: the stage that it was sent out for is finished."`
	Bill  billCmd        `cmd:"" help:"Say what was billed, where the bill came later than the work, or correct it."`
	List  listOutsideCmd `cmd:"" help:"List what is with others, the soonest due first."`
}

type sendOutCmd struct {
	timed
	Piece  string `arg:"" help:"Tag number."`
	Kind   string `arg:"" help:"upholstery, caning, stone, mirror …"`
	Firm   string `arg:"" help:"Who does it."`
	Due    string `help:"The day on which it is to be back." required:"" placeholder:"DAY"`
	Part   string `help:"Only this part, by its label." placeholder:"LABEL"`
	Stage  string `help:"The stage that it does, by its title." placeholder:"STAGE"`
	Quoted string `help:"What it is to cost." placeholder:"AMOUNT"`
}

func (c *sendOutCmd) Run(e *env) error {
	due, err := client.Day(c.Due)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.SendOutRequest{RequestId: c.request(), Kind: c.Kind, Firm: c.Firm, DueDate: due}
		if err := c.what(e, shop, r); err != nil {
			return err
		}
		if r.SendTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Outside.SendOut(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printOutside(e, shop, []*workflowv1.OutsideWork{resp.OutsideWork}) })
	})
}

// what finds what goes out, what for, and for how much.
func (c *sendOutCmd) what(e *env, shop *client.Shop, r *workflowv1.SendOutRequest) error {
	p, err := shop.Piece(e.ctx, c.Piece)
	if err != nil {
		return err
	}
	r.Piece = p.Name
	if c.Part != "" {
		if r.Part, err = client.Part(p, c.Part); err != nil {
			return err
		}
	}
	if c.Stage != "" {
		stage, err := shop.Stage(e.ctx, p, c.Stage)
		if err != nil {
			return err
		}
		r.Stage = stage.Name
	}
	if c.Quoted == "" {
		return nil
	}
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	r.Quoted, err = terms.Amount(c.Quoted)
	return err
}

// outsideWork is a command on what is, or was, with others.
type outsideWork struct {
	Work string `arg:"" help:"Its piece's tag number; or its id, as the list shows it, where the piece has several."`
}

type chaseCmd struct {
	timed
	outsideWork
	Note string `arg:"" help:"What was said."`
	Due  string `help:"The day on which it now is to be back." placeholder:"DAY"`
}

func (c *chaseCmd) Run(e *env) error {
	due, err := client.Day(c.Due)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		w, err := shop.OutsideWork(e.ctx, c.Work, workflowv1.OutsideWork_STATE_OUT)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Outside.ChaseOutsideWork(e.ctx, &workflowv1.ChaseOutsideWorkRequest{RequestId: c.request(), OutsideWork: w.Name, Note: c.Note, DueDate: due, ChaseTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printOutside(e, shop, []*workflowv1.OutsideWork{resp.OutsideWork}) })
	})
}

type backCmd struct {
	timed
	outsideWork
	Billed  string `help:"What it cost; without it, what was quoted, and if nothing was, the bill is yet to come." placeholder:"AMOUNT"`
	Undone  bool   `help:"It came back undone: the stage stays open."`
	Station string `help:"Where it stands now." placeholder:"STATION"`
}

func (c *backCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		w, err := shop.OutsideWork(e.ctx, c.Work, workflowv1.OutsideWork_STATE_OUT)
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &workflowv1.ReceiveOutsideWorkRequest{RequestId: c.request(), OutsideWork: w.Name, CalledOff: c.Undone}
		if r.Billed, err = terms.Amount(c.Billed); err != nil {
			return err
		}
		if r.Station, err = optionalStation(e, shop, c.Station); err != nil {
			return err
		}
		if r.ReceiveTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Outside.ReceiveOutsideWork(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, r.ReceiveTime)
		return c.print(e, resp, func() error { return printOutside(e, shop, []*workflowv1.OutsideWork{resp.OutsideWork}) })
	})
}

type billCmd struct {
	command
	outsideWork
	Billed string `arg:"" help:"What it really cost."`
	Reason string `help:"Why." required:""`
}

func (c *billCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		// What was called off may have been billed as well.
		w, err := shop.OutsideWork(e.ctx, c.Work, workflowv1.OutsideWork_STATE_BACK, workflowv1.OutsideWork_STATE_CALLED_OFF)
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &workflowv1.CorrectOutsideBillRequest{RequestId: c.request(), OutsideWork: w.Name, Reason: c.Reason}
		if r.Billed, err = terms.Amount(c.Billed); err != nil {
			return err
		}
		resp, err := shop.Outside.CorrectOutsideBill(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printOutside(e, shop, []*workflowv1.OutsideWork{resp.OutsideWork}) })
	})
}

type listOutsideCmd struct {
	listOutput
	Piece    string `help:"Only of this piece." placeholder:"TAG"`
	All      bool   `help:"Also what is back."`
	Overdue  bool   `help:"Only what should be back by now."`
	Unbilled bool   `help:"Only what is back and whose bill is yet to come."`
}

func (c *listOutsideCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		filter := &workflowv1.ListOutsideWorkRequest{IncludeBack: c.All, OverdueOnly: c.Overdue, UnbilledOnly: c.Unbilled}
		if c.Piece != "" {
			p, err := shop.Piece(e.ctx, c.Piece)
			if err != nil {
				return err
			}
			filter.Piece = p.Name
		}
		all, err := shop.AllOutside(e.ctx, filter)
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListOutsideWorkResponse{OutsideWork: all}, func() error { return printOutside(e, shop, all) })
	})
}

func printOutside(e *env, shop *client.Shop, all []*workflowv1.OutsideWork) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"work", " piece", "part", "for", "with", "sent", "due", "state", " quoted", " billed", " asked"}}
	for _, w := range all {
		state := report.State(w.State.String())
		switch {
		case w.Overdue:
			state += ", overdue"
		case w.BackTime != nil:
			state += " since " + terms.Clock(w.BackTime)
		}
		if w.State == workflowv1.OutsideWork_STATE_BACK && w.Billed == nil {
			state += ", no bill yet"
		}
		part := w.PartLabel
		if part == "" {
			part = "all"
		}
		t.Add(bare(w.Name), fmt.Sprint(w.PieceTag), part, report.Kind(w.Kind), w.Firm, terms.Clock(w.SentTime), client.WriteDay(w.DueDate), state,
			report.Money(w.Quoted), report.Money(w.Billed), fmt.Sprint(len(w.Chases)))
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	printChases(e, terms, all)
	return nil
}

// printChases prints what was said when somebody asked after outside work, the oldest first.
func printChases(e *env, terms client.Terms, all []*workflowv1.OutsideWork) {
	for _, w := range all {
		for _, c := range w.Chases {
			fmt.Fprintf(e.out, "%s  %s asked %s about %s of piece %d: %s\n", terms.Clock(c.ChaseTime), c.Actor, w.Firm, report.Kind(w.Kind), w.PieceTag, c.Note)
		}
	}
}
