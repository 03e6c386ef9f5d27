package client

import (
	"context"
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	"tackfree/pkg/wallclock"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// Terms are what a shop's figures are in: its currency, and the zone of the clock on its
// wall.
type Terms struct {
	Currency money.Currency
	Zone     *time.Location
}

// NewTerms reads them by their names.
func NewTerms(currency, zone string) (Terms, error) {
	c, err := money.CurrencyOf(currency)
	if err != nil {
		return Terms{}, err
	}
	z, err := time.LoadLocation(zone)
	if err != nil || zone == "" || zone == "Local" {
		return Terms{}, fmt.Errorf("%q is not an IANA time zone, such as Europe/Madrid", zone)
	}
	return Terms{Currency: c, Zone: z}, nil
}

// Terms asks the shop for its terms, once.
func (s *Shop) Terms(ctx context.Context) (Terms, error) {
	s.asking.Lock()
	defer s.asking.Unlock()
	if s.terms != nil {
		return *s.terms, nil
	}
	r, err := s.Intake.GetShop(ctx, &intakev1.GetShopRequest{})
	if err != nil {
		return Terms{}, err
	}
	t, err := NewTerms(r.CurrencyCode, r.TimeZone)
	if err != nil {
		return Terms{}, err
	}
	s.terms = &t
	return t, nil
}

// Amount reads 85 or 85.00; an empty text is absent.
func (t Terms) Amount(text string) (*moneyv1.Money, error) {
	if text == "" {
		return nil, nil
	}
	a, err := t.Currency.Parse(text)
	if err != nil {
		return nil, err
	}
	return wire.Shop{Currency: t.Currency}.ToMoney(a), nil
}

// Instant reads a time by the clock on the shop's wall, or one with an offset; an empty
// text is absent.
func (t Terms) Instant(text string) (*timestamppb.Timestamp, error) {
	if text == "" {
		return nil, nil
	}
	at, err := wallclock.Read(text, t.Zone)
	if err != nil {
		return nil, err
	}
	return timestamppb.New(at), nil
}

// Beginning reads a time as Instant does, or a day such as 2026-04-01 as its first instant by the clock
// on the shop's wall; an empty text is absent.
func (t Terms) Beginning(text string) (*timestamppb.Timestamp, error) {
	day, err := Day(text)
	if day == nil || err != nil {
		return t.Instant(text)
	}
	return timestamppb.New(time.Date(int(day.Year), time.Month(day.Month), int(day.Day), 0, 0, 0, 0, t.Zone)), nil
}

// Until reads a time as Instant does, or a day such as 2026-04-01 as when the shop closes on it; an empty text is
// absent. Source: clients.Closing.
func (s *Shop) Until(ctx context.Context, text string) (*timestamppb.Timestamp, error) {
	terms, err := s.Terms(ctx)
	if err != nil {
		return nil, err
	}
	day, err := Day(text)
	if day == nil || err != nil {
		return terms.Instant(text)
	}
	at, err := s.Closing(ctx, day, terms.Zone)
	return timestamppb.New(at), err
}

// Clock writes an instant as the clock on the shop's wall shows it; absent is a dash.
func (t Terms) Clock(at *timestamppb.Timestamp) string {
	if at == nil {
		return "–"
	}
	return wallclock.Write(at.AsTime(), t.Zone)
}
