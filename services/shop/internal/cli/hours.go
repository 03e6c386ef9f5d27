package cli

import (
	"context"
	"fmt"
	"slices"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type hoursCmd struct {
	listOutput
	By    []string `help:"By what: person, piece, stage, week, stage-kind or indirect, or several of them with commas between; without it, the sum of all." placeholder:"WHAT,…" sep:"none"`
	From  string   `help:"Only what lies after, as --at says times elsewhere." placeholder:"TIME"`
	To    string   `help:"Only what lies before." placeholder:"TIME"`
	Who   string   `help:"Only this person's." placeholder:"NAME"`
	Piece string   `help:"Only this piece's." placeholder:"TAG"`
}

func (c *hoursCmd) Run(e *env) error {
	var by []workflowv1.ListHoursRequest_By
	for _, word := range words(c.By) {
		b, err := readEnum[workflowv1.ListHoursRequest_By]("BY_", word, workflowv1.ListHoursRequest_By_value)
		if err != nil {
			return err
		}
		if slices.Contains(by, b) {
			return fmt.Errorf("%s is said twice: say each once", word)
		}
		by = append(by, b)
	}
	return e.with(func(shop *client.Shop) error {
		r, err := c.filter(e, shop)
		if err != nil {
			return err
		}
		r.By = by
		lines, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.ListHoursResponse_Line, string, error) {
			r.PageToken = token
			resp, err := shop.Floor.ListHours(ctx, r)
			return resp.GetLines(), resp.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListHoursResponse{Lines: lines}, func() error { return hoursTable(by, lines).Print(e.out) })
	})
}

func (c *hoursCmd) filter(e *env, shop *client.Shop) (*workflowv1.ListHoursRequest, error) {
	r := &workflowv1.ListHoursRequest{PageSize: 1000}
	if c.Who != "" {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return nil, err
		}
		r.Person = who.Name
	}
	if c.Piece != "" {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return nil, err
		}
		r.Piece = p.Name
	}
	var err error
	if r.FromTime, err = instant(e.ctx, shop, c.From); err != nil {
		return nil, err
	}
	r.ToTime, err = instant(e.ctx, shop, c.To)
	return r, err
}

// columns are how a line says by what it is.
var columns = map[workflowv1.ListHoursRequest_By]struct {
	heading string
	of      func(*workflowv1.ListHoursResponse_Line) string
}{
	workflowv1.ListHoursRequest_BY_PERSON:     {"who", (*workflowv1.ListHoursResponse_Line).GetPersonName},
	workflowv1.ListHoursRequest_BY_PIECE:      {" piece", tagOf},
	workflowv1.ListHoursRequest_BY_STAGE:      {"stage", (*workflowv1.ListHoursResponse_Line).GetStageTitle},
	workflowv1.ListHoursRequest_BY_WEEK:       {"week of", func(l *workflowv1.ListHoursResponse_Line) string { return client.WriteDay(l.Week) }},
	workflowv1.ListHoursRequest_BY_STAGE_KIND: {"kind", func(l *workflowv1.ListHoursResponse_Line) string { return report.Kind(l.StageKind) }},
	workflowv1.ListHoursRequest_BY_INDIRECT:   {"what", func(l *workflowv1.ListHoursResponse_Line) string { return report.Kind(l.Indirect) }},
}

func tagOf(l *workflowv1.ListHoursResponse_Line) string {
	if l.PieceTag == 0 {
		return ""
	}
	return fmt.Sprint(l.PieceTag)
}

func hoursTable(by []workflowv1.ListHoursRequest_By, lines []*workflowv1.ListHoursResponse_Line) *report.Table {
	t := &report.Table{}
	for _, b := range by {
		t.Headings = append(t.Headings, columns[b].heading)
	}
	t.Headings = append(t.Headings, " labour", " rework", " on no piece", " all")
	for _, l := range lines {
		var row []string
		for _, b := range by {
			row = append(row, columns[b].of(l))
		}
		labour, rework, indirect := l.LabourTime.AsDuration(), l.ReworkTime.AsDuration(), l.IndirectTime.AsDuration()
		t.Add(append(row, report.Hours(l.LabourTime), report.Hours(l.ReworkTime), report.Hours(l.IndirectTime), report.Length(labour+rework+indirect))...)
	}
	return t
}
