package cli

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
)

type assessCmd struct {
	timed
	Piece     string   `arg:"" help:"Tag number."`
	Part      string   `arg:"" help:"The part, by label."`
	Material  string   `help:"What it is made of: 'solid wood', veneer, MDF, laminate or metal." enum:"solid wood,veneer,MDF,laminate,metal" required:""`
	Species   string   `help:"Of wood: oak, pine … Without it: nobody can tell." placeholder:"WOOD"`
	Veneer    string   `help:"How thick the veneer is, such as 0.7mm. Without it: nobody measured it." placeholder:"LENGTH"`
	OldFinish string   `help:"What lies on it: bare, unknown if nobody can tell, or a coating such as shellac, in the words of finish plans." required:"" placeholder:"COATING"`
	Waxed     bool     `help:"A layer of wax lies on it."`
	OldStain  bool     `help:"There is colour in the wood that may bleed."`
	PaintedIn string   `help:"The earliest year in which the old coating may have been put on, or the decade, such as 1950s. Without it nobody knows, and lead is presumed." placeholder:"YEAR"`
	Condition string   `help:"sound, worn on its surface, or damaged." enum:",sound,worn,damaged" default:"" placeholder:"sound|worn|damaged"`
	Defect    []string `help:"What is wrong with it: DEFECT:slight|mend|spoils[:WHERE[:PHOTO,PHOTO[:NOTE]]], photos by their numbers. Repeat for each." placeholder:"DEFECT" sep:"none"`
	Note      string   `help:"Anything else there is to see."`
}

// Help implements kong.HelpProvider.
func (assessCmd) Help() string {
	return `All that is said holds in the place of what was said of the part before. A finish plan takes from it what the plan's file leaves out; a slight defect may stay.

For example, a top with a chip in its veneer, which photo 3 shows:

    shop piece assess 1 top --material veneer --species walnut --veneer 0.7mm --old-finish shellac --painted-in 1930s --defect 'veneer chip:mend:front edge:3'`
}

func (c *assessCmd) Run(e *env) error {
	seen, err := c.seen()
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		r := &intakev1.AssessPartRequest{RequestId: c.request(), Seen: seen}
		if r.Part, err = client.Part(p, c.Part); err != nil {
			return err
		}
		if r.AssessTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		if err := shownBy(e.ctx, shop, p, seen.Defects); err != nil {
			return err
		}
		resp, err := shop.Assessments.AssessPart(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printAssessments(e, []*intakev1.PartAssessment{resp.Assessment}) })
	})
}

// seen reads what was seen; photos of defects are numbers yet.
func (c *assessCmd) seen() (*intakev1.PartSeen, error) {
	out := &intakev1.PartSeen{Material: c.Material, Species: c.Species, OldFinish: c.OldFinish, Waxed: c.Waxed, OldStain: c.OldStain,
		Condition: conditionsByWord[c.Condition], Note: c.Note}
	var err error
	if out.Veneer, err = optionalQuantity(c.Veneer); err != nil {
		return nil, err
	}
	if out.PaintedIn, out.PaintedInDecade, err = readYear(c.PaintedIn); err != nil {
		return nil, err
	}
	for _, text := range c.Defect {
		d, err := readPartDefect(text)
		if err != nil {
			return nil, err
		}
		out.Defects = append(out.Defects, d)
	}
	return out, nil
}

// readYear reads 1955, or a decade as 1950s; empty is not known.
func readYear(text string) (year int32, decade bool, err error) {
	if text == "" {
		return 0, false, nil
	}
	number, decade := strings.CutSuffix(text, "s")
	n, err := strconv.ParseInt(number, 10, 32)
	if err != nil || n < 1 {
		return 0, false, fmt.Errorf("%q is not a year such as 1955, or a decade such as 1950s", text)
	}
	return int32(n), decade, nil
}

// howBad are the words that people type for how bad a defect is.
var howBad = map[string]intakev1.PartDefect_Severity{"slight": intakev1.PartDefect_SEVERITY_SLIGHT, "mend": intakev1.PartDefect_SEVERITY_TO_MEND,
	"to mend": intakev1.PartDefect_SEVERITY_TO_MEND, "spoils": intakev1.PartDefect_SEVERITY_SPOILS_PART, "spoils the part": intakev1.PartDefect_SEVERITY_SPOILS_PART}

// readPartDefect reads DEFECT:HOW BAD[:WHERE[:PHOTO,PHOTO[:NOTE]]].
func readPartDefect(text string) (*intakev1.PartDefect, error) {
	words := strings.SplitN(text, ":", 5)
	if len(words) < 2 || howBad[words[1]] == 0 {
		return nil, fmt.Errorf("--defect %q is not of the form 'veneer chip:mend:front edge'; how bad it is is slight, mend or spoils", text)
	}
	words = append(words, "", "", "")
	return &intakev1.PartDefect{Kind: words[0], Severity: howBad[words[1]], Where: words[2],
		Photos: strings.FieldsFunc(words[3], func(r rune) bool { return r == ',' || r == ' ' }), Note: words[4]}, nil
}

// shownBy puts the names of photos in the place of their numbers; the shop is asked only where there are any.
func shownBy(ctx context.Context, shop *client.Shop, p *intakev1.Piece, defects []*intakev1.PartDefect) error {
	if !slices.ContainsFunc(defects, func(d *intakev1.PartDefect) bool { return len(d.Photos) > 0 }) {
		return nil
	}
	photos, err := shop.AllPhotos(ctx, &intakev1.ListPhotosRequest{Piece: p.Name})
	if err != nil {
		return err
	}
	named := map[string]string{}
	for _, photo := range photos {
		named[fmt.Sprint(photo.Number)] = photo.Name
	}
	for _, d := range defects {
		for i, number := range d.Photos {
			if d.Photos[i] = named[number]; d.Photos[i] == "" {
				return fmt.Errorf("piece %d has no photo %s; look its photos up with `shop photo list %d`", p.Tag, number, p.Tag)
			}
		}
	}
	return nil
}
