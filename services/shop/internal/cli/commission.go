package cli

import (
	"fmt"

	datev1 "google.golang.org/genproto/googleapis/type/date"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
)

type commissionCmd struct {
	Suggest  suggestEstimateCmd  `cmd:"" help:"Fill in what an estimate would say, from the finish plan of a piece or from what is wanted; keeps nothing."`
	Estimate draftEstimateCmd    `cmd:"" help:"Begin a commission with an estimate for a client."`
	Revise   reviseEstimateCmd   `cmd:"" help:"Write the next version of an estimate; those before stay."`
	Bring    bringPieceCmd       `cmd:"" help:"Say which piece was brought for a commission."`
	Approve  approveEstimateCmd  `cmd:"" help:"Note that the client agrees to a version of the estimate."`
	Decline  declineEstimateCmd  `cmd:"" help:"Note that the client does not agree, and why."`
	Change   changeOrderCmd      `cmd:"" help:"What turns up after the approval and costs more."`
	Cancel   cancelCmd           `cmd:"" help:"End a commission; says what is owed, figure by figure."`
	Finish   finishCommissionCmd `cmd:"" help:"Close a commission whose work is done."`
	List     listCommissionsCmd  `cmd:"" help:"List the commissions, the latest first."`
	Show     showCommissionCmd   `cmd:"" help:"Show a commission, its estimate and what is to be invoiced."`
	Terms    commissionTermsCmd  `cmd:"" help:"Show what holds of estimates that say nothing else; with flags, change that."`
}

// linesHelp says how lines are typed.
const linesHelp = `Lines are typed like these:

    --labour 'strip and refinish:8-10-14'     hours at the least, likely and at the most, at the terms' rate
    --labour 'repair a drawer:1.5@70'         likely hours alone, at a rate
    --material 'varnish and stripper:43.37'   what it costs the shop; the terms' markup comes on it
    --material 'veneer:60+20'                 with a markup of 20 %
    --other 'fetch and bring back:40'         anything else, at its price
    --untaxed 'fetch and bring back'          a line that is not taxed

Prices are rounded once for each line, a half up; tax is taken once, of what is taxed less its share of the discount.`

// estimateFlags are what an estimate says.
type estimateFlags struct {
	Labour     []string `help:"Work: WHAT:HOURS or WHAT:LEAST-LIKELY-MOST, and @RATE. Repeat for each." placeholder:"LINE" sep:"none"`
	Material   []string `help:"Material: WHAT:COST, and +PERCENT. Repeat for each." placeholder:"LINE" sep:"none"`
	Other      []string `help:"Anything else: WHAT:PRICE. Repeat for each." placeholder:"LINE" sep:"none"`
	Untaxed    []string `help:"Which lines are not taxed, by what they are. Repeat for each." placeholder:"WHAT" sep:"none"`
	Discount   string   `help:"Off the sum of the lines: an amount, or a percent such as 10%." placeholder:"AMOUNT"`
	Tax        string   `help:"In percent, exact, such as 8.875. Without it: as the terms say." placeholder:"PERCENT"`
	Deposit    string   `help:"Before work begins: an amount, or a percent such as 50%. Without it: as the terms say." placeholder:"AMOUNT"`
	ValidUntil string   `help:"The last day on which it can be approved. Without it: so many days as the terms say." placeholder:"DAY"`
	DoneBy     string   `help:"The day by which it would be done." placeholder:"DAY"`
	Notes      string   `help:"What else the client should know."`
}

func (f estimateFlags) read(terms client.Terms) (d *intakev1.EstimateDraft, err error) {
	d = &intakev1.EstimateDraft{TaxPercent: withoutSign(f.Tax), Notes: f.Notes}
	if d.Lines, err = readLines(terms, f.Labour, f.Material, f.Other, f.Untaxed); err != nil {
		return nil, err
	}
	if d.Discount, d.DiscountPercent, err = amountOrPercent(terms, f.Discount); err != nil {
		return nil, err
	}
	if d.Deposit, d.DepositPercent, err = amountOrPercent(terms, f.Deposit); err != nil {
		return nil, err
	}
	if d.ValidUntil, err = client.Day(f.ValidUntil); err != nil {
		return nil, err
	}
	d.Promised, err = client.Day(f.DoneBy)
	return d, err
}

type draftEstimateCmd struct {
	timed
	estimateFlags
	Client      string `arg:"" help:"Their number."`
	Description string `arg:"" help:"What it is and what is to be done, in a few words."`
	Piece       string `help:"The tag number of the piece that was brought." placeholder:"NUMBER"`
	Suggested   bool   `help:"With the lines that the piece's finish plan suggests, and the day; those that are typed come beside them."`
}

// Help implements kong.HelpProvider.
func (draftEstimateCmd) Help() string { return linesHelp }

func (c *draftEstimateCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &intakev1.DraftEstimateRequest{RequestId: c.request(), Description: c.Description}
		whose, err := shop.Client(e.ctx, c.Client)
		if err != nil {
			return err
		}
		r.Client = whose.Name
		if c.Piece != "" {
			p, err := shop.Piece(e.ctx, c.Piece)
			if err != nil {
				return err
			}
			r.Piece = p.Name
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		if r.Draft, err = c.read(terms); err != nil {
			return err
		}
		if err := c.suggested(e, shop, r); err != nil {
			return err
		}
		if r.DraftTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Commissions.DraftEstimate(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printCommission(e, terms, resp.Commission) })
	})
}

// suggested puts what is suggested before what was typed.
func (c *draftEstimateCmd) suggested(e *env, shop *client.Shop, r *intakev1.DraftEstimateRequest) error {
	if !c.Suggested {
		return nil
	}
	s, err := shop.Commissions.SuggestEstimate(e.ctx, &intakev1.SuggestEstimateRequest{Piece: r.Piece})
	if err != nil {
		return err
	}
	r.Draft.Lines = append(s.Draft.GetLines(), r.Draft.Lines...)
	if r.Draft.Promised == nil {
		r.Draft.Promised = s.Draft.GetPromised()
	}
	return nil
}

type reviseEstimateCmd struct {
	timed
	estimateFlags
	Commission string `arg:"" help:"Its number."`
	Reason     string `help:"Why it is revised." required:""`
}

// Help implements kong.HelpProvider.
func (reviseEstimateCmd) Help() string {
	return "The whole estimate is written anew; what is left out is as the terms say.\n\n" + linesHelp
}

func (c *reviseEstimateCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, terms, err := commissionAndTerms(e, shop, c.Commission)
		if err != nil {
			return err
		}
		r := &intakev1.ReviseEstimateRequest{RequestId: c.request(), Commission: is.Name, Reason: c.Reason, Etag: is.Etag}
		if r.Draft, err = c.read(terms); err != nil {
			return err
		}
		if r.DraftTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Commissions.ReviseEstimate(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printCommission(e, terms, resp.Commission) })
	})
}

// commissionAndTerms finds a commission, and how the shop counts.
func commissionAndTerms(e *env, shop *client.Shop, ref string) (*intakev1.CommissionOrder, client.Terms, error) {
	is, err := shop.Commission(e.ctx, ref)
	if err != nil {
		return nil, client.Terms{}, err
	}
	terms, err := shop.Terms(e.ctx)
	return is, terms, err
}

type bringPieceCmd struct {
	command
	Commission string `arg:"" help:"Its number."`
	Piece      string `arg:"" help:"Tag number."`
}

func (c *bringPieceCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Commission(e.ctx, c.Commission)
		if err != nil {
			return err
		}
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Commissions.BringPiece(e.ctx, &intakev1.BringPieceRequest{RequestId: c.request(), Commission: is.Name, Piece: p.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Commission %d is about piece %d.\n", is.Number, p.Tag)
			return err
		})
	})
}

// dayWords writes a day; nothing where there is none.
func dayWords(d *datev1.Date) string {
	if d == nil {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day)
}
