package stock

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// opened is a can that somebody opened and that is not used up.
type opened struct {
	ID, Name string
	Left     *typev1.Quantity
	At       time.Time // when; zero: it was so long ago that nobody looks
	Expires  time.Time // zero: nobody knows
	Expired  bool
	Place    string
}

// lookBack is how long ago a can that is still in use may have been opened.
const lookBack = 400 * 24 * time.Hour

// openedCans are those that are open, what expires first before the rest. Which products have one follows
// from the openings that were written down.
func openedCans(ctx context.Context, s *clients.Suite, places map[string]string, now time.Time) ([]opened, error) {
	openings, err := movements(ctx, s, &materialsv1.ListMovementsRequest{Purposes: []string{"opening"}, FromTime: stamp(now.Add(-lookBack)), PageSize: many})
	if err != nil {
		return nil, err
	}
	when, names := openingTimes(openings)
	lots := make([][]*materialsv1.Lot, len(names))
	order := sortedKeys(names)
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(atOnce)
	for i, product := range order {
		g.Go(func() (err error) {
			lots[i], err = lotsOf(ctx, s, product)
			return err
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	var out []opened
	for i, product := range order {
		out = append(out, stillOpen(lots[i], names[product], when, places, now)...)
	}
	slices.SortStableFunc(out, byExpiry)
	return out, nil
}

// openingTimes says when each lot was opened, and which products have any.
func openingTimes(openings []*materialsv1.Movement) (when map[string]time.Time, names map[string]string) {
	when, names = map[string]time.Time{}, map[string]string{}
	for _, m := range openings {
		if m.Undone {
			continue
		}
		product, _, _ := strings.Cut(m.Name, "/entries/")
		names[product] = m.ProductName
		for _, p := range m.Parts {
			if exact(p.Quantity).IsPositive() {
				when[p.Lot] = m.Time.AsTime()
			}
		}
	}
	return when, names
}

func stillOpen(lots []*materialsv1.Lot, name string, when map[string]time.Time, places map[string]string, now time.Time) (out []opened) {
	for _, l := range lots {
		if !l.Open || l.Closed || none(l.Left) {
			continue
		}
		product, _, _ := strings.Cut(l.Name, "/lots/")
		o := opened{ID: idOf(product), Name: name, Left: l.Left, At: when[l.Name], Place: places[l.Place]}
		if l.ExpireTime != nil {
			o.Expires = l.ExpireTime.AsTime()
			o.Expired = !now.Before(o.Expires)
		}
		out = append(out, o)
	}
	return out
}

// byExpiry puts first what gets too old first, last what nobody knows of.
func byExpiry(a, b opened) int {
	if a.Expires.IsZero() != b.Expires.IsZero() {
		if a.Expires.IsZero() {
			return 1
		}
		return -1
	}
	return cmp.Or(a.Expires.Compare(b.Expires), cmp.Compare(a.Name, b.Name))
}
