package server

import (
	"context"
	"time"

	moneypb "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// SetTaxPlace implements TaxService.
func (s *Server) SetTaxPlace(ctx context.Context, r *salesv1.SetTaxPlaceRequest) (*salesv1.SetTaxPlaceResponse, error) {
	now := s.Shop.Now()
	rate, err := s.decodeTaxRate(r, now)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.SetTaxPlaceResponse, error) {
		st, name := store.New(tx), wire.Name(r.DisplayName)
		if err := st.LockSettings(ctx); err != nil {
			return nil, err
		}
		p, err := st.TaxPlaceNamed(ctx, wire.NameKey(name))
		if fault.Is(err, sales.ErrNoTaxPlace.Reason) {
			p, err = sales.TaxPlace{ID: id.New(), Key: wire.NameKey(name)}, nil
		}
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, p.Version); err != nil {
			return nil, err
		}
		inUse, err := st.TaxPlaces(ctx, false)
		if err != nil {
			return nil, err
		}
		if err := p.State(name, rate, r.MakeDefault, inUse); err != nil {
			return nil, err
		}
		e := &eventsv1.TaxPlaceSet{DisplayName: p.Name, Percent: rate.Percent.String(), FromDate: wire.ToDay(rate.From), DeliveryTaxed: rate.DeliveryTaxed, IsDefault: p.Default}
		return &salesv1.SetTaxPlaceResponse{Place: encodeTaxPlace(p)}, s.keepTaxPlace(ctx, tx, p, now, e)
	})
}

// RetireTaxPlace implements TaxService.
func (s *Server) RetireTaxPlace(ctx context.Context, r *salesv1.RetireTaxPlaceRequest) (*salesv1.RetireTaxPlaceResponse, error) {
	now := s.Shop.Now()
	place, err := id.One("name", r.Name, "taxPlaces")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.RetireTaxPlaceResponse, error) {
		st := store.New(tx)
		if err := st.LockSettings(ctx); err != nil {
			return nil, err
		}
		p, err := st.TaxPlace(ctx, place)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, p.Version); err != nil {
			return nil, err
		}
		inUse, err := st.TaxPlaces(ctx, false)
		if err != nil {
			return nil, err
		}
		if err := p.Retire(inUse); err != nil {
			return nil, err
		}
		return &salesv1.RetireTaxPlaceResponse{Place: encodeTaxPlace(p)}, s.keepTaxPlace(ctx, tx, p, now, &eventsv1.TaxPlaceRetired{DisplayName: p.Name})
	})
}

// keepTaxPlace writes a place with the event that made its present version.
func (s *Server) keepTaxPlace(ctx context.Context, tx *pg.Tx, p sales.TaxPlace, now time.Time, payload proto.Message) error {
	if err := store.New(tx).SaveTaxPlace(ctx, p); err != nil {
		return err
	}
	return s.Log.Append(ctx, tx, outbox.Event{Kind: "tax_place", Aggregate: p.ID, Version: p.Version, OccurredAt: now.UTC(), Payload: payload}, now)
}

// ListTaxPlaces implements TaxService.
func (s *Server) ListTaxPlaces(ctx context.Context, r *salesv1.ListTaxPlacesRequest) (*salesv1.ListTaxPlacesResponse, error) {
	out := &salesv1.ListTaxPlacesResponse{}
	return out, s.DB.View(ctx, func(q pg.Querier) error {
		all, err := store.New(q).TaxPlaces(ctx, r.ShowRetired)
		for _, p := range all {
			out.Places = append(out.Places, encodeTaxPlace(p))
		}
		return err
	})
}

// taxed is what a request to sell says of tax; that of a piece and of a set say it alike.
type taxed interface {
	GetTax() *moneypb.Money
	GetTaxPlace() string
	GetExempt() bool
	GetExemptReason() string
}

// takeTax sets the tax of what is sold at an instant, as it was asked for. A client's own piece is taxed at a place only if that is
// said, for its invoice brings its tax. Faults: those of Reckon, TAX_PLACE_NOT_FOUND, TAX_PLACE_UNSAID.
func (s *Server) takeTax(ctx context.Context, st store.Store, r taxed, commission bool, soldAt time.Time, a *sales.Amounts) (sales.Taxed, error) {
	terms := sales.TaxTerms{Said: r.GetTax() != nil, Place: wire.Name(r.GetTaxPlace()), Exempt: r.GetExempt(), Reason: wire.Name(r.GetExemptReason())}
	if err := terms.Check(); err != nil {
		return sales.Taxed{}, err
	}
	day := dayOf(soldAt.In(s.Shop.Zone))
	place, err := taxPlace(ctx, st, terms, commission, day)
	if err != nil {
		return sales.Taxed{}, err
	}
	return a.Reckon(terms, place, day)
}

// taxPlace is where a sale is taxed; nil: nowhere.
func taxPlace(ctx context.Context, st store.Store, terms sales.TaxTerms, commission bool, day time.Time) (*sales.TaxPlace, error) {
	switch {
	case terms.Said:
		return nil, nil
	case terms.Place != "":
		p, err := st.TaxPlaceNamed(ctx, wire.NameKey(terms.Place))
		return &p, err
	case commission:
		return nil, nil
	}
	inUse, err := st.TaxPlaces(ctx, false)
	if err != nil {
		return nil, err
	}
	return sales.PlaceOf(inUse, day, terms.Exempt)
}

// dayOf is the calendar day of an instant by the clock that it has, at midnight UTC.
func dayOf(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}
