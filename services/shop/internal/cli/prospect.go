package cli

import (
	"errors"
	"fmt"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
)

type prospectCmd struct {
	Advise  adviseProspectCmd  `cmd:"" help:"Say what to pay at most for a piece that you stand before; keeps nothing."`
	Add     addProspectCmd     `cmd:"" help:"Keep what was seen, with the advice as it is now."`
	List    listProspectsCmd   `cmd:"" help:"List what was seen, the latest first."`
	Show    showProspectCmd    `cmd:"" help:"Show what was seen of a prospect and what was advised then."`
	Buy     buyProspectCmd     `cmd:"" help:"Take a prospect in that was bought: it becomes a piece."`
	Decline declineProspectCmd `cmd:"" help:"Say that a prospect is not bought, and why."`
	Terms   buyingTermsCmd     `cmd:"" help:"Show what an hour is to earn and what buying costs; with flags, change that."`
}

// adviceHelp is what is said of advice under the commands that give it.
const adviceHelp = `What it is worth is reckoned backwards: from the price that it will bring, what selling keeps, the hours at what they cost and at what they are to earn, ` +
	`material, hardware, the way there and the floor until it is sold are taken off. What is left is the most to pay. None of it is certain, so it is told with the chance that is wanted.

For example, a dresser for which 60 is asked, with a loose joint and an old coat of which nobody knows the year:

    shop prospect advise --kind dresser --size medium --material 'solid wood' --species pine --look paint --old-finish unknown --defect 'loose joint' --asking 60 --distance 12km`

// Help implements kong.HelpProvider.
func (adviseProspectCmd) Help() string { return adviceHelp }

// seen are the flags for what somebody sees who stands before a piece.
type seen struct {
	Kind      string   `help:"dresser, table, chair …" required:""`
	Size      string   `help:"small: one person carries it; medium: two do; large: it takes more, or comes apart first." enum:"small,medium,large" required:"" placeholder:"SIZE"`
	Material  string   `help:"What it is made of: 'solid wood', veneer, MDF, laminate or metal." enum:"solid wood,veneer,MDF,laminate,metal" required:""`
	Species   string   `help:"Of wood: oak, pine … Without it: nobody can tell." placeholder:"WOOD"`
	OldFinish string   `help:"The old coating, such as shellac, in the words of finish plans; unknown if nobody can tell. Without it the wood is bare." placeholder:"COATING"`
	PaintedIn int32    `help:"The earliest year in which the old coating may have been put on. Without it nobody knows, and lead is presumed." placeholder:"YEAR"`
	Defect    []string `help:"What is to be repaired, such as 'loose joint', in the words of finish plans. Repeat for each." placeholder:"DEFECT" sep:"none"`
	Extra     string   `help:"What must be bought for it beside coatings: hardware, glass, outside work." placeholder:"AMOUNT"`
	Look      string   `help:"What it is to become: paint, stain, clear … as in finish plans." required:""`
	Asking    string   `help:"What is asked for it." required:"" placeholder:"AMOUNT"`
	Distance  string   `help:"One way, such as 12km or 8mi; a bare number is in kilometres." placeholder:"LENGTH"`
	Source    string   `help:"Where it was found."`
	SellsLow  string   `help:"What you believe it sells for at the least; with --sells-high, eight times in ten between the two. Without them: by what the shop sold, and its selling terms." placeholder:"AMOUNT"`
	SellsHigh string   `help:"At the most." placeholder:"AMOUNT"`
	Channel   string   `help:"Where it would be sold."`
	Part      []string `help:"A part that was measured: LABEL:COUNT:LENGTHxWIDTH[xTHICKNESS]. Repeat for each. Without any: as such pieces usually are." placeholder:"PART" sep:"none"`
}

// wish are the flags for what a purchase is to bring this time.
type wish struct {
	Target string `help:"What each hour is to leave when all is paid. Without it: as the buying terms say." placeholder:"AMOUNT"`
	Chance string `help:"How surely, in percent, such as 80. Without it: as the buying terms say." placeholder:"PERCENT"`
}

// Validate refuses half a guess.
func (s seen) Validate() error {
	if (s.SellsLow == "") != (s.SellsHigh == "") {
		return errors.New("say both --sells-low and --sells-high, or neither")
	}
	return nil
}

func (s seen) read(terms client.Terms) (*intakev1.Sighting, error) {
	size, err := readSize(s.Size)
	if err != nil {
		return nil, err
	}
	out := &intakev1.Sighting{Kind: s.Kind, Size: size, Material: s.Material, Species: s.Species, OldFinish: s.OldFinish,
		PaintedIn: s.PaintedIn, Defects: s.Defect, Look: s.Look, Source: s.Source, Channel: s.Channel}
	if out.DistanceKm, err = readDistance(s.Distance); err != nil {
		return nil, err
	}
	for _, text := range s.Part {
		part, err := readPart(text)
		if err != nil {
			return nil, err
		}
		out.Parts = append(out.Parts, part)
	}
	return out, amounts(terms, typedAmount{s.Extra, &out.ExtraCost}, typedAmount{s.Asking, &out.AskingPrice}, typedAmount{s.SellsLow, &out.SellsLow}, typedAmount{s.SellsHigh, &out.SellsHigh})
}

func (w wish) read(terms client.Terms) (target *moneyv1.Money, chance float64, err error) {
	if target, err = terms.Amount(w.Target); err != nil {
		return nil, 0, err
	}
	chance, err = readPercent("--chance", w.Chance)
	return target, chance / 100, err
}

type adviseProspectCmd struct {
	listOutput
	seen
	wish
}

func (c *adviseProspectCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &intakev1.AdvisePurchaseRequest{}
		if r.Sighting, err = c.seen.read(terms); err != nil {
			return err
		}
		if r.TargetPerHour, r.Chance, err = c.wish.read(terms); err != nil {
			return err
		}
		resp, err := shop.Prospects.AdvisePurchase(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printPurchaseAdvice(e, r.Sighting.AskingPrice, resp.Advice) })
	})
}

type addProspectCmd struct {
	timed
	seen
	wish
	Title string `help:"What to call it. Without it: its kind."`
	Note  string `help:"What else is worth knowing, such as whose it is."`
}

func (c *addProspectCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &intakev1.AddProspectRequest{RequestId: c.request()}
		if r.Sighting, err = c.seen.read(terms); err != nil {
			return err
		}
		r.Sighting.Title, r.Sighting.Note = c.Title, c.Note
		if r.TargetPerHour, r.Chance, err = c.wish.read(terms); err != nil {
			return err
		}
		if r.SeenTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Prospects.AddProspect(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "Prospect %d is kept: %s.\n\n", resp.Prospect.Number, prospectTitle(resp.Prospect))
			return printPurchaseAdvice(e, r.Sighting.AskingPrice, resp.Prospect.Advice)
		})
	})
}

// prospectTitle is what a prospect is called.
func prospectTitle(p *intakev1.Prospect) string {
	if t := p.GetSighting().GetTitle(); t != "" {
		return t
	}
	return p.GetSighting().GetKind()
}
