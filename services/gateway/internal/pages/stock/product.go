package stock

import (
	"context"
	"net/http"
	"net/url"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// onePage is a product's page.
type onePage struct {
	Tab       string
	Product   *materialsv1.Product
	Now       can
	NoAdvice  bands.Missing
	Alerts    warnings
	Course    course
	NoCourse  bands.Missing
	Lots      []lot
	History   []*materialsv1.Movement
	More      bool // there is more of it
	NoHistory bands.Missing
	Offers    []*materialsv1.Offer
	NoOffers  bands.Missing
	Usage     []used
	Forms     forms
}

// forms are what the page's forms choose from, and what was typed into one that was refused.
type forms struct {
	ID        string
	Product   *materialsv1.Product
	Units     []string
	Places    []*materialsv1.Place
	Suppliers []*materialsv1.Supplier
	Lots      []lot
	Lines     []*materialsv1.Order_Line // on order and not all come
	Open      string                    // which form is open
	Typed     url.Values
	Details   []shownDetail
	Cautions  []shownCaution
	Was       string // of the details, as the form is opened
	WasMark   string // of the threshold
	Packed    []packed
	WasPacked []string
	Offers    []*materialsv1.Offer
	Breaks    []string // rows of prices
	Causes    []string
	Stages    []*materialsv1.Movement // at which some of it was used lately
	Slips     []entry                 // that can be undone
	Recipes   []*materialsv1.Recipe   // by which it is mixed here
	Mixes     []*materialsv1.Mix      // lately
	Sides     []side
}

// lot is one lot of the product.
type lot struct {
	*materialsv1.Lot
	Place   string
	Expires time.Time
	Expired bool
}

// Val is what a field of a form shows: what was typed, if that form was refused, or else what it has.
func (f forms) Val(form, field, usual string) string {
	if f.Open == form && f.Typed.Has(field) {
		return f.Typed.Get(field)
	}
	return usual
}

func showProduct(w http.ResponseWriter, a *web.Asked) error {
	return showProductWith(w, a, refusedForm{}, nil)
}

// refusedForm is a form that is shown again.
type refusedForm struct {
	name  string
	typed url.Values
	was   url.Values // of the details, when it is not what the product says now
	sides []edits.Side
}

func showProductWith(w http.ResponseWriter, a *web.Asked, again refusedForm, refused error) error {
	name := "products/" + a.PathValue("id")
	it, err := loadProduct(a.Context(), a.Kit.Suite, name, a.Now(), a.Voice)
	if err != nil {
		return err
	}
	it.Forms = it.formsOf(again)
	return a.ShowRefused(w, "product", it.Product.DisplayName, it, refused)
}

// changed answers a form: the product's page again when it was refused, and else after it.
func changed(w http.ResponseWriter, a *web.Asked, form, said string, err error) error {
	if fault.Of(err) != nil {
		return showProductWith(w, a, refusedForm{name: form, typed: a.PostForm}, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/stock/"+a.PathValue("id"), said)
}

// loadProduct reads all there is to a product. That there is such a product at all is asked first: the
// lists would be empty else, or each say the same.
func loadProduct(ctx context.Context, s *clients.Suite, name string, now time.Time, voice *words.Voice) (*onePage, error) {
	r, err := s.Materials.GetProduct(ctx, &materialsv1.GetProductRequest{Name: name})
	if err != nil {
		return nil, err
	}
	it := &onePage{Product: r.Product}
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error { return it.loadCourse(ctx, s, now, voice.Zone) })
	g.Go(func() error { return it.loadLots(ctx, s, now) })
	g.Go(func() error { return it.loadTrade(ctx, s) })
	g.Go(func() error { return it.loadMixing(ctx, s) })
	g.Go(func() error {
		m, err := s.Stock.ListMovements(ctx, &materialsv1.ListMovementsRequest{Product: name, PageSize: short})
		it.History, it.More = m.GetMovements(), m.GetNextPageToken() != ""
		return it.NoHistory.Of(err)
	})
	g.Go(func() error {
		u, err := s.Needs.GetUsage(ctx, &materialsv1.GetUsageRequest{Product: name, PageSize: many})
		it.Usage = usedOf(u.GetUsage())
		return err
	})
	g.Go(func() (err error) {
		it.Alerts, err = loadWarnings(ctx, s, voice, name, now)
		return err
	})
	return it, g.Wait()
}
