package bench

import (
	"context"
	"net/http"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// picture is the page on which somebody takes a photo of a piece, or shows what is wrong with it. Whether
// work has to be done again the lead decides by an inspection; a photo of a defect is what a helper says.
type picture struct {
	Tag     string // empty: it is still to be said
	Moment  string
	Stage   string
	Moments []string
	Parts   []*intakev1.Part
	Defects []*workflowv1.DefectKind // only of a defect
}

var moments = []string{"during", "defect", "before", "after"}

func photo(w http.ResponseWriter, a *web.Asked) error {
	q := a.URL.Query()
	p := picture{Tag: tagIn(strings.TrimSpace(q.Get("piece"))), Moment: q.Get("moment"), Stage: q.Get("stage"), Moments: moments}
	if !slices.Contains(moments, p.Moment) {
		p.Moment = moments[0]
	}
	if p.Tag != "" {
		if err := p.read(a.Context(), a); err != nil {
			return err
		}
	}
	title := "bench.photo.title"
	if p.Moment == "defect" {
		title = "bench.photo.defect"
	}
	return a.Show(w, "benchphoto", a.Voice.T(title), p)
}

func (p *picture) read(ctx context.Context, a *web.Asked) error {
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error {
		r, err := a.Kit.Suite.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: "pieces/tag:" + p.Tag})
		p.Parts = r.GetPiece().GetParts()
		return err
	})
	if p.Moment == "defect" {
		g.Go(func() error {
			r, err := a.Kit.Suite.Inspections.ListDefectKinds(ctx, &workflowv1.ListDefectKindsRequest{})
			p.Defects = r.GetDefectKinds()
			return err
		})
	}
	return g.Wait()
}
