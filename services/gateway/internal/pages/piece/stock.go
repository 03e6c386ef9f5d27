package piece

import (
	"context"
	"maps"
	"path"
	"slices"
	"strings"
	"sync"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
)

// stockBand is what went into the piece, and what is still to come.
type stockBand struct {
	Missing bands.Missing
	Issues  []issueRow
	Needs   []*materialsv1.Need
	Costs   bool // the reader may see what it cost
}

// issueRow is an issue with what is known of its stage and lots.
type issueRow struct {
	*materialsv1.Issue
	Stage *workflowv1.Stage // nil: it is not told
	Lots  []drawn
}

// drawn is what came out of one lot.
type drawn struct {
	*materialsv1.Issue_Draw
	Lot *materialsv1.Lot // nil: it is not told
}

func loadStock(a *web.Asked, p *intakev1.Piece) (it stockBand, err error) {
	it.Costs = a.User.Owns()
	var issues []*materialsv1.Issue
	var lots map[string]*materialsv1.Lot
	var stages []*workflowv1.Stage
	group, ctx := errgroup.WithContext(a.Context())
	group.Go(func() (err error) {
		if issues, err = issuesOf(ctx, a.Kit.Suite, p.Name); err == nil {
			lots, err = lotsOf(ctx, a.Kit.Suite, issues)
		}
		return err
	})
	group.Go(func() (err error) { it.Needs, err = needsOf(ctx, a.Kit.Suite, p.Name); return err })
	group.Go(func() (err error) { stages, err = stagesNow(ctx, a.Kit.Suite, p.Name); return err })
	err = it.Missing.Of(group.Wait())
	for _, i := range issues {
		it.Issues = append(it.Issues, issueOf(i, stages, lots))
	}
	return it, err
}

func stagesNow(ctx context.Context, s *clients.Suite, piece string) ([]*workflowv1.Stage, error) {
	r, err := s.Stages.ListStages(ctx, &workflowv1.ListStagesRequest{Piece: piece})
	return r.GetStages(), unless(err, "PIECE_NOT_FOUND")
}

func issueOf(i *materialsv1.Issue, stages []*workflowv1.Stage, lots map[string]*materialsv1.Lot) issueRow {
	r := issueRow{Issue: i, Stage: stageNamed(stages, i.Stage)}
	for _, d := range i.Draws {
		r.Lots = append(r.Lots, drawn{d, lots[d.Lot]})
	}
	return r
}

func issuesOf(ctx context.Context, s *clients.Suite, piece string) ([]*materialsv1.Issue, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Issue, string, error) {
		r, err := s.Materials.ListIssues(ctx, &materialsv1.ListIssuesRequest{Piece: piece, PageSize: 1000, PageToken: token})
		return r.GetIssues(), r.GetNextPageToken(), err
	})
}

func needsOf(ctx context.Context, s *clients.Suite, piece string) ([]*materialsv1.Need, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Need, string, error) {
		r, err := s.Needs.ListNeeds(ctx, &materialsv1.ListNeedsRequest{Piece: piece, PageSize: 1000, PageToken: token})
		return r.GetNeeds(), r.GetNextPageToken(), err
	})
}

// lotsOf reads the lots that the issues were drawn from, a product's at a time.
func lotsOf(ctx context.Context, s *clients.Suite, issues []*materialsv1.Issue) (map[string]*materialsv1.Lot, error) {
	products := map[string]bool{}
	for _, i := range issues {
		products[productOf(i.Name)] = true
	}
	lots, mu := map[string]*materialsv1.Lot{}, sync.Mutex{}
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(6)
	for _, product := range slices.Sorted(maps.Keys(products)) {
		group.Go(func() error {
			some, err := clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Lot, string, error) {
				r, err := s.Materials.ListLots(ctx, &materialsv1.ListLotsRequest{Product: product, ShowUsedUp: true, PageSize: 1000, PageToken: token})
				return r.GetLots(), r.GetNextPageToken(), err
			})
			mu.Lock()
			defer mu.Unlock()
			for _, l := range some {
				lots[l.Name] = l
			}
			return err
		})
	}
	return lots, group.Wait()
}

// productOf is the product of an issue's name, products/{product}/issues/{id}.
func productOf(issue string) string {
	return strings.TrimSuffix(path.Dir(issue), "/issues")
}
