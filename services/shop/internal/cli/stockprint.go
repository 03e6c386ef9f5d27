package cli

import (
	"cmp"
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

// stageWords finds what people call stages by their names, and asks once for each piece.
type stageWords struct {
	env    *env
	shop   *client.Shop
	titles *client.Titles
	tags   map[string]string // by piece
}

func newStageWords(e *env, shop *client.Shop) *stageWords {
	return &stageWords{env: e, shop: shop, titles: client.NewTitles(shop), tags: map[string]string{}}
}

// of gives the number on the tag of a stage's piece and what the stage is called; empty: none.
func (w *stageWords) of(stage, kind string) (tag, title string, err error) {
	if stage == "" {
		return "", "", nil
	}
	piece := pieceOf(stage)
	if w.tags[piece] == "" {
		p, err := w.shop.Piece(w.env.ctx, piece)
		if err != nil {
			return "", "", err
		}
		w.tags[piece] = fmt.Sprint(p.Tag)
	}
	title, err = titleOf(w.env, w.titles, stage, kind)
	return w.tags[piece], title, err
}

// sayRecosted prints a line for each entry that an earlier one changed: what it cost, and of a
// count what was missing.
func sayRecosted(e *env, shop *client.Shop, all []*materialsv1.Recosting) error {
	words := newStageWords(e, shop)
	for _, r := range all {
		of := fmt.Sprintf("%s of %s", r.Purpose, r.ProductName)
		if r.Stage != "" {
			tag, title, err := words.of(r.Stage, "")
			if err != nil {
				return err
			}
			of = fmt.Sprintf("%s of piece %s, %s", cmp.Or(title, "a stage"), tag, of)
		}
		text := "" // who is not told what material costs is told of what was too much or missing alone
		if r.OldCost != nil || r.NewCost != nil {
			text = fmt.Sprintf(": %s before, %s now", report.Money(r.OldCost), report.Money(r.NewCost))
		}
		if r.OldDifference != nil || r.NewDifference != nil {
			text += fmt.Sprintf("; difference %s before, %s now", report.Quantity(r.OldDifference), report.Quantity(r.NewDifference))
		}
		if _, err := fmt.Fprintf(e.out, "Counted anew: %s%s.\n", of, text); err != nil {
			return err
		}
	}
	return nil
}

// sayLots prints lots of a product, and what their change did to entries that were there before.
func sayLots(e *env, shop *client.Shop, recosted []*materialsv1.Recosting, lots ...*materialsv1.Lot) error {
	if err := printLots(e, shop, lots); err != nil {
		return err
	}
	return sayRecostedBelow(e, shop, recosted)
}

// sayRecostedBelow is sayRecosted below a table.
func sayRecostedBelow(e *env, shop *client.Shop, all []*materialsv1.Recosting) error {
	if len(all) > 0 {
		fmt.Fprintln(e.out)
	}
	return sayRecosted(e, shop, all)
}

func printLots(e *env, shop *client.Shop, lots []*materialsv1.Lot) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"lot", "received", "supplier", " amount", " left", " cost", " cost left", "usable until", "stands at", "remark"}}
	for _, l := range lots {
		t.Add(bare(l.Name), terms.Clock(l.ReceiveTime), l.Supplier, report.Quantity(l.Received), report.Quantity(l.Left), report.Money(l.Cost),
			report.Money(l.CostLeft), until(terms, l.ExpireTime), orDash(bare(l.Place)), lotRemark(l))
	}
	return t.Print(e.out)
}

// until writes when something is over: at the end of a day as that day, which is the last one, as
// it is printed on a can.
func until(terms client.Terms, at *timestamppb.Timestamp) string {
	if at == nil {
		return "–"
	}
	last := at.AsTime().Add(-time.Nanosecond).In(terms.Zone)
	if end := time.Date(last.Year(), last.Month(), last.Day()+1, 0, 0, 0, 0, terms.Zone); end.Equal(at.AsTime()) {
		return last.Format(time.DateOnly)
	}
	return terms.Clock(at)
}

// lotRemark is what else there is to know of a lot.
func lotRemark(l *materialsv1.Lot) string {
	var all []string
	for _, r := range []struct {
		holds bool
		text  string
	}{{l.Open, "open"}, {l.Closed, "closed"}, {l.Mix != "", "mixed"}, {l.BatchCode != "", "batch " + l.BatchCode}, {l.PartOf != "", "part of " + bare(l.PartOf)}} {
		if r.holds {
			all = append(all, r.text)
		}
	}
	return each(all, func(s string) string { return s })
}
