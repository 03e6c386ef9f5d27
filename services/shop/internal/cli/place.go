package cli

import (
	"cmp"
	"errors"
	"fmt"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type moveCmd struct {
	timed
	Piece   string `arg:"" help:"Tag number."`
	Station string `arg:"" optional:"" help:"The station's word or name."`
	Part    string `help:"Only this part, by its label." placeholder:"LABEL"`
	Nowhere bool   `help:"It stands at no station from then on."`
}

func (c *moveCmd) Run(e *env) error {
	if (c.Station == "") != c.Nowhere {
		return errors.New("say to which station, or --nowhere")
	}
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		r := &workflowv1.MovePieceRequest{RequestId: c.request(), Piece: p.Name}
		if c.Part != "" {
			if r.Part, err = client.Part(p, c.Part); err != nil {
				return err
			}
		}
		if !c.Nowhere {
			st, err := shop.Station(e.ctx, c.Station)
			if err != nil {
				return err
			}
			r.Station = st.Name
		}
		if r.MoveTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Stations.MovePiece(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printPlacements(e, shop, resp.Placements) })
	})
}

func printPlacements(e *env, shop *client.Shop, all []*workflowv1.Placement) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" piece", "part", " count", "where", "since"}}
	for _, p := range all {
		t.Add(fmt.Sprint(p.PieceTag), cmp.Or(p.PartLabel, "all"), fmt.Sprint(p.Count), where(p), terms.Clock(p.SinceTime))
	}
	return t.Print(e.out)
}

// where is the station's word, or who has it outside the shop.
func where(p *workflowv1.Placement) string {
	switch {
	case p.OutsideWork != "":
		return "with " + p.Firm
	case p.Station == "":
		return "–"
	}
	return bare(p.Station)
}

// standing writes what stands somewhere: "14 case, 14 doors".
func standing(all []*workflowv1.Placement) string {
	return each(all, func(p *workflowv1.Placement) string { return fmt.Sprintf("%d %s", p.PieceTag, p.PartLabel) })
}

// places writes where the parts of a piece stand: "case booth, doors rack".
func places(all []*workflowv1.Placement) string {
	return each(all, func(p *workflowv1.Placement) string { return p.PartLabel + " " + where(p) })
}

// each writes all of a list, with commas between them.
func each[T any](all []T, write func(T) string) string {
	words := make([]string, len(all))
	for i, one := range all {
		words[i] = strings.TrimSpace(write(one))
	}
	return strings.Join(words, ", ")
}
