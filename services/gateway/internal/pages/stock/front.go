package stock

import (
	"context"
	"net/http"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/alerts"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// front is the first page of stock.
type front struct {
	Tab     string
	Alerts  warnings
	Shelf   shelf
	Opened  []opened
	NoOpen  bands.Missing
	Expires []aged
	NoAged  bands.Missing
}

// warnings are the alerts that are open.
type warnings struct {
	Open    []warning
	Missing bands.Missing
}

type warning struct {
	Word, ID, Text string    // what kind it is, of which product, in a sentence
	Due            time.Time // zero: there is no day
	Over           bool
	English        bool // though the reader's language is another
}

// aged is a lot that gets too old soon.
type aged struct {
	ID, Place string
	*materialsv1.ExpiringLot
	// Last is the last day on which it may be used, or else when it is too old.
	Last time.Time
}

// soon is how far ahead what gets too old is shown, days.
const soon = 45

// showShelf shows the first page: what somebody should know, the shelf, what is open, what gets too old.
func showShelf(w http.ResponseWriter, a *web.Asked) error {
	it := front{Tab: "shelf"}
	g, ctx := errgroup.WithContext(a.Context())
	s, now := a.Kit.Suite, a.Now()
	g.Go(func() (err error) {
		it.Alerts, err = loadWarnings(ctx, s, a.Voice, "", now)
		return err
	})
	g.Go(func() (err error) {
		it.Shelf, err = loadShelf(ctx, s, a.Voice.Zone)
		return err
	})
	g.Go(func() error { return it.loadAges(ctx, s, now, a.Voice.Zone) })
	if err := g.Wait(); err != nil {
		return err
	}
	return a.Show(w, "stock", a.Voice.T("stock.title"), it)
}

// loadAges reads what is open and what gets too old, which both say where it stands.
func (f *front) loadAges(ctx context.Context, s *clients.Suite, now time.Time, zone *time.Location) error {
	places, _, err := placeNames(ctx, s)
	if err != nil {
		return err
	}
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() (err error) {
		f.Opened, err = openedCans(ctx, s, places, now)
		return f.NoOpen.Of(err)
	})
	g.Go(func() error {
		lots, err := expiring(ctx, s, soon)
		f.Expires = agedOf(lots, places, zone)
		return f.NoAged.Of(err)
	})
	return g.Wait()
}

func loadWarnings(ctx context.Context, s *clients.Suite, v *words.Voice, product string, now time.Time) (it warnings, err error) {
	all, err := openAlerts(ctx, s, product)
	it.Open = warningsOf(v, all, now)
	return it, it.Missing.Of(err)
}

func warningsOf(v *words.Voice, all []*materialsv1.Alert, now time.Time) (out []warning) {
	for _, one := range all {
		it := warning{Word: alerts.Word(one.Kind)}
		it.Text, it.English = alerts.Say(v, one, now)
		if one.Product != "" {
			it.ID = idOf(one.Product)
		}
		if one.DueTime != nil {
			it.Due = one.DueTime.AsTime()
			it.Over = it.Due.Before(now)
		}
		out = append(out, it)
	}
	return out
}

func partAlerts(w http.ResponseWriter, a *web.Asked) error {
	it, err := loadWarnings(a.Context(), a.Kit.Suite, a.Voice, "", a.Now())
	if err != nil {
		return err
	}
	return a.ShowPart(w, "stock", "alerts", it)
}
