package server

import (
	"context"
	"regexp"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// GetTaxReport implements TaxService.
func (s *Server) GetTaxReport(ctx context.Context, r *salesv1.GetTaxReportRequest) (*salesv1.GetTaxReportResponse, error) {
	from, err := wire.Day("from_date", r.FromDate)
	if err != nil {
		return nil, err
	}
	to, err := wire.Day("to_date", r.ToDate)
	if err != nil {
		return nil, err
	}
	if to.Before(from) {
		return nil, fault.New(fault.Invalid, "PERIOD_REVERSED", "The last day is before the first; check whether the two were mixed up.").At("to_date")
	}
	var rows []sales.TaxRow
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		rows, err = store.New(q).TaxReport(ctx, s.midnight(from, 0), s.midnight(to, 1))
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &salesv1.GetTaxReportResponse{Total: s.encodeTaxRow(sales.TaxTotal(rows))}
	for _, row := range rows {
		out.Rows = append(out.Rows, s.encodeTaxRow(row))
	}
	return out, nil
}

// midnight is the first instant in the shop of so many days after a calendar day.
func (s *Server) midnight(day time.Time, after int) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day()+after, 0, 0, 0, 0, s.Shop.Zone).UTC()
}

func (s *Server) encodeTaxRow(r sales.TaxRow) *salesv1.GetTaxReportResponse_Row {
	out := &salesv1.GetTaxReportResponse_Row{Place: r.Place, GrossSales: s.Shop.ToMoney(r.Gross), Exempt: s.Shop.ToMoney(r.Exempt), Taxable: s.Shop.ToMoney(r.Taxable),
		TaxCollected: s.Shop.ToMoney(r.Tax), SalesRefunded: s.Shop.ToMoney(r.PriceBack), TaxRefunded: s.Shop.ToMoney(r.TaxBack), NetTax: s.Shop.ToMoney(r.Net())}
	if r.Place != "" {
		out.Percent = r.Percent.String()
	}
	return out
}

// taxExactly is an exact decimal of a rate of sales tax, with its sign so that a negative one is told by its range.
var taxExactly = regexp.MustCompile(`^-?[0-9]{1,6}(\.[0-9]{1,4})?$`)

// decodeTaxRate reads a rate that is stated. Faults: TAX_PERCENT_MALFORMED, DATE_MALFORMED.
func (s *Server) decodeTaxRate(r *salesv1.SetTaxPlaceRequest, now time.Time) (sales.TaxRate, error) {
	if !taxExactly.MatchString(r.Percent) {
		return sales.TaxRate{}, fault.New(fault.Invalid, "TAX_PERCENT_MALFORMED",
			"%q is not a percentage of up to four digits after the point, such as 8.25.", r.Percent).At("percent")
	}
	percent, err := decimal.NewFromString(r.Percent)
	if err != nil {
		return sales.TaxRate{}, err
	}
	from, err := wire.Day("from_date", r.FromDate)
	if from.IsZero() {
		from = dayOf(now.In(s.Shop.Zone))
	}
	return sales.TaxRate{From: from, Percent: percent, DeliveryTaxed: r.DeliveryTaxed}, err
}

func encodeTaxPlace(p sales.TaxPlace) *salesv1.TaxPlace {
	out := &salesv1.TaxPlace{Name: id.Name("taxPlaces", p.ID), DisplayName: p.Name, IsDefault: p.Default, Retired: p.Retired, Etag: wire.Etag(p.Version)}
	for _, r := range p.Rates {
		out.Rates = append(out.Rates, &salesv1.TaxPlace_Rate{FromDate: wire.ToDay(r.From), Percent: r.Percent.String(), DeliveryTaxed: r.DeliveryTaxed})
	}
	return out
}
