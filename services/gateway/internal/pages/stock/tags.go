package stock

import (
	"context"
	"sync"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/bands"
)

// atOnce is how many calls a page makes side by side.
const atOnce = 8

// tagsOf gives the tag numbers of the pieces that would stand still. Where intake is away there are none:
// a stage's title says enough to go on.
func tagsOf(ctx context.Context, s *clients.Suite, advice []*materialsv1.RestockAdvice) (map[string]int32, error) {
	tags := map[string]int32{}
	for _, a := range advice {
		if a.Halt != nil {
			tags[a.Halt.Piece] = 0
		}
	}
	var names []string
	for name := range tags {
		names = append(names, name)
	}
	var mu sync.Mutex
	var away bands.Missing
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(atOnce)
	for _, name := range names {
		g.Go(func() error {
			r, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: name})
			mu.Lock()
			defer mu.Unlock()
			tags[name] = r.GetPiece().GetTag()
			return away.Of(err)
		})
	}
	return tags, g.Wait()
}
