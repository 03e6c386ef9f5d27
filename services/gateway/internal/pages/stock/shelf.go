package stock

import (
	"context"
	"net/http"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// shelf is what stands there, what presses first.
type shelf struct {
	Cans     []can
	Pressing int           // how many have to be ordered or mixed now, or would make a stage stand still
	Unasked  bands.Missing // why nothing is said of what comes: plans, orders, days
}

// can is one product on the shelf.
type can struct {
	ID, Name               string
	OnHand, Reserved, Free *typev1.Quantity
	OnOrder, Threshold     *typev1.Quantity
	Unfit                  *typev1.Quantity // there, but too old or closed; nil: nothing
	Low, Short             bool             // below its threshold; promised more than there is
	Advice                 *materialsv1.RestockAdvice
	Year                   bool // it lasts a year or longer
	LeadDays, LeadGive     int  // how long a delivery takes, and how much that varies
	Halt                   *halt
	By                     time.Time // the last day on which to order or mix; zero: nothing runs short
	Level                  level
}

// halt is a stage that would stand still.
type halt struct {
	Title string
	Tag   int32 // of its piece; 0: nobody could say
	On    time.Time
	Lacks *typev1.Quantity
}

// aYear is what the service says of what lasts a year or longer.
const aYear = 365

// shelve puts products on the shelf: first what has advice, in the order of the advice, then the others.
func shelve(all []*materialsv1.Product, advice []*materialsv1.RestockAdvice, tags map[string]int32, zone *time.Location) (s shelf) {
	byName := map[string]*materialsv1.Product{}
	for _, p := range all {
		byName[p.Name] = p
	}
	for _, a := range advice {
		if p := byName[a.Product]; p != nil {
			s.Cans = append(s.Cans, canOf(p, a, tags, zone))
			delete(byName, a.Product)
		}
		if a.OrderNow || a.Halt != nil || a.Mixing != nil {
			s.Pressing++
		}
	}
	for _, p := range all {
		if byName[p.Name] != nil {
			s.Cans = append(s.Cans, canOf(p, nil, nil, zone))
		}
	}
	return s
}

func canOf(p *materialsv1.Product, a *materialsv1.RestockAdvice, tags map[string]int32, zone *time.Location) can {
	c := can{ID: idOf(p.Name), Name: p.DisplayName, OnHand: p.OnHand, Threshold: p.RestockThreshold, Low: p.Low, Advice: a}
	if a == nil {
		c.Level = fill(exact(c.OnHand), exact(nil), exact(nil), exact(c.Threshold))
		return c
	}
	if unfit := less(p.OnHand, a.OnHand); exact(unfit).IsPositive() {
		c.Unfit = unfit
	}
	c.OnHand, c.Reserved, c.OnOrder = a.OnHand, a.Reserved, a.OnOrder
	c.Free = less(a.OnHand, a.Reserved)
	c.Short, c.Year = exact(c.Free).IsNegative(), a.DaysOfCover >= aYear
	c.LeadDays, c.LeadGive = int(a.LeadDays+0.5), int(a.LeadDaysDeviation+0.5)
	c.By = typed.Noon(a.OrderByDate, zone)
	if a.Mixing != nil {
		c.By = typed.Noon(a.Mixing.ByDate, zone)
	}
	if h := a.Halt; h != nil {
		c.Halt = &halt{Title: h.Title, Tag: tags[h.Piece], On: typed.Noon(h.Date, zone), Lacks: h.Lacks}
	}
	c.Level = fill(exact(c.OnHand), exact(c.Reserved), exact(c.OnOrder), exact(c.Threshold))
	return c
}

// loadShelf reads the shelf. What is to be ordered not everybody may know.
func loadShelf(ctx context.Context, s *clients.Suite, zone *time.Location) (shelf, error) {
	var all []*materialsv1.Product
	var advice *materialsv1.ListRestockAdviceResponse
	var unasked bands.Missing
	g, within := errgroup.WithContext(ctx)
	g.Go(func() (err error) {
		all, err = products(within, s)
		return err
	})
	g.Go(func() (err error) {
		advice, err = s.Restock.ListRestockAdvice(within, &materialsv1.ListRestockAdviceRequest{})
		return unasked.Of(err)
	})
	if err := g.Wait(); err != nil {
		return shelf{}, err
	}
	tags, err := tagsOf(ctx, s, advice.GetAdvice())
	if err != nil {
		return shelf{}, err
	}
	it := shelve(all, advice.GetAdvice(), tags, zone)
	it.Unasked = unasked
	return it, nil
}

func partShelf(w http.ResponseWriter, a *web.Asked) error {
	it, err := loadShelf(a.Context(), a.Kit.Suite, a.Voice.Zone)
	if err != nil {
		return err
	}
	return a.ShowPart(w, "stock", "shelf", it)
}
