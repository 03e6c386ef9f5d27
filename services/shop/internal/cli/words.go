package cli

import (
	"context"
	"fmt"
	"strings"
	"time"

	datev1 "google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
)

// command is what every changing command takes.
type command struct {
	output
	At        string `help:"When it happened: '2026-03-02 08:00' in this machine's zone, or with an offset 2026-03-02T08:00:00-05:00. Without it: now." placeholder:"TIME"`
	RequestID string `help:"Give the same one again to ask again safely." placeholder:"UUID"`
}

func (c command) request() string {
	if c.RequestID != "" {
		return c.RequestID
	}
	return id.New().String()
}

func (c command) at() (*timestamppb.Timestamp, error) { return instant(c.At) }

// instant reads a time that a person typed; none stays absent.
func instant(text string) (*timestamppb.Timestamp, error) {
	if text == "" {
		return nil, nil
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return timestamppb.New(t), nil
	}
	for _, form := range []string{"2006-01-02 15:04:05", "2006-01-02 15:04"} {
		if t, err := time.ParseInLocation(form, text, time.Local); err == nil {
			return timestamppb.New(t), nil
		}
	}
	return nil, fmt.Errorf("%q is not a time such as '2026-03-02 08:00'", text)
}

// day reads a calendar day such as 2026-03-02.
func day(text string) (*datev1.Date, error) {
	t, err := time.Parse("2006-01-02", text)
	if err != nil {
		return nil, fmt.Errorf("%q is not a day such as 2026-03-02", text)
	}
	return wire.ToDay(t), nil
}

// quantity reads an amount with its unit: 0.75L, 120mL, 2gal.
func quantity(text string) (*typev1.Quantity, error) {
	text = strings.ReplaceAll(text, " ", "")
	end := strings.LastIndexAny(text, "0123456789.") + 1
	if end == 0 || end == len(text) {
		return nil, fmt.Errorf("%q is not an amount with a unit, such as 120mL or 2gal", text)
	}
	return &typev1.Quantity{Value: text[:end], Unit: text[end:]}, nil
}

// till reads amounts in the shop's currency.
type till struct{ currency money.Currency }

// openTill asks the shop for its currency.
func openTill(ctx context.Context, shop *client.Shop) (till, error) {
	r, err := shop.Costing.GetShopCost(ctx, &costingv1.GetShopCostRequest{})
	if err != nil {
		return till{}, err
	}
	c, err := money.CurrencyOf(r.Total.Cost.CurrencyCode)
	return till{c}, err
}

// amount reads 85 or 85.00; an empty text is absent.
func (t till) amount(text string) (*moneyv1.Money, error) {
	if text == "" {
		return nil, nil
	}
	a, err := t.currency.Parse(text)
	if err != nil {
		return nil, err
	}
	return wire.Shop{Currency: t.currency}.ToMoney(a), nil
}

func clock(ts *timestamppb.Timestamp) string {
	if ts == nil {
		return "–"
	}
	return ts.AsTime().Local().Format("2006-01-02 15:04:05")
}
