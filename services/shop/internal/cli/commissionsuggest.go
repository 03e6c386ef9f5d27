package cli

import (
	"errors"
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type suggestEstimateCmd struct {
	listOutput
	Piece     string   `help:"The tag number of the piece that was brought. Without --look, its finish plan says what is to be done." placeholder:"NUMBER"`
	Kind      string   `help:"dresser, table, chair … Without it: as the piece's."`
	Size      string   `help:"As of a prospect. Without it: as the piece's." enum:",small,medium,large" default:"" placeholder:"small|medium|large"`
	Material  string   `help:"What it is made of: 'solid wood', veneer, MDF, laminate or metal." enum:",solid wood,veneer,MDF,laminate,metal" default:"" placeholder:"MATERIAL"`
	Species   string   `help:"Of wood: oak, pine … Without it: nobody can tell." placeholder:"WOOD"`
	OldFinish string   `help:"The old coating; unknown if nobody can tell. Without it the wood is bare." placeholder:"COATING"`
	PaintedIn int32    `help:"The earliest year in which the old coating may have been put on. Without it nobody knows, and lead is presumed." placeholder:"YEAR"`
	Defect    []string `help:"What is to be repaired. Repeat for each." placeholder:"DEFECT" sep:"none"`
	Look      string   `help:"What it is to become: paint, stain, clear … as in finish plans."`
	Part      []string `help:"A part that was measured: LABEL:COUNT:LENGTHxWIDTH[xTHICKNESS]. Repeat for each." placeholder:"PART" sep:"none"`
}

// wanted is what is to be done; nil: as the finish plan says.
func (c *suggestEstimateCmd) wanted() (*intakev1.WorkWanted, error) {
	if c.Look == "" {
		if c.Piece == "" {
			return nil, errors.New("say --piece, whose finish plan is gone by, or what is wanted with --kind, --size, --material and --look")
		}
		return nil, nil
	}
	w := &intakev1.WorkWanted{Kind: c.Kind, Size: sizesByWord[c.Size], Material: c.Material, Species: c.Species, OldFinish: c.OldFinish, PaintedIn: c.PaintedIn, Defects: c.Defect, Look: c.Look}
	for _, text := range c.Part {
		part, err := readPart(text)
		if err != nil {
			return nil, err
		}
		w.Parts = append(w.Parts, part)
	}
	return w, nil
}

func (c *suggestEstimateCmd) Run(e *env) error {
	wanted, err := c.wanted()
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		r := &intakev1.SuggestEstimateRequest{Wanted: wanted}
		if c.Piece != "" {
			p, err := shop.Piece(e.ctx, c.Piece)
			if err != nil {
				return err
			}
			r.Piece = p.Name
		}
		resp, err := shop.Commissions.SuggestEstimate(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printSuggestion(e, resp) })
	})
}

func printSuggestion(e *env, s *intakev1.SuggestEstimateResponse) error {
	t := &report.Table{Headings: []string{"what", "how much", " price"}}
	for _, l := range s.GetDraft().GetLines() {
		t.Add(l.What, lineWords(l), report.Money(l.Price))
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	b := s.GetBasis()
	rests := fmt.Sprintf("It goes by what is usual; %d of %d minutes were learned here.", b.GetMinutesLearned(), b.GetMinutes())
	if b.GetFinishPlan() != "" {
		rests = fmt.Sprintf("It goes by version %s of the finish plan, of %d stages.", b.FinishPlan[strings.LastIndex(b.FinishPlan, "/")+1:], b.GetStages())
	}
	fmt.Fprintf(e.out, "\n%s\n", rests)
	if names := b.GetUnpriced(); len(names) > 0 {
		fmt.Fprintf(e.out, "Nobody knows what these cost, and they are in no line: %s.\n", strings.Join(names, ", "))
	}
	if day := dayWords(s.GetDraft().GetPromised()); day != "" {
		fmt.Fprintf(e.out, "It could be done by %s.\n", day)
	} else if b.GetNoDay() != "" {
		fmt.Fprintf(e.out, "No day is suggested: %s\n", b.NoDay)
	}
	for _, h := range s.GetHazards() {
		if _, err := fmt.Fprintln(e.out, "! "+h.Says); err != nil {
			return err
		}
	}
	return nil
}
