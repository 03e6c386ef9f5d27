package money

import (
	"cmp"
	"context"
	"net/http"
	"net/url"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"
	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/clients"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// rates is what the books reckon with: what an hour of each costs, what comes on top, and overhead.
type rates struct {
	Missing  bands.Missing
	People   []*workflowv1.Person
	Pay      []*costingv1.PayRate
	Burdens  []*costingv1.Burden
	Standard []*costingv1.StandardRate
	Overhead []*costingv1.OverheadRate
	Actuals  []*costingv1.OverheadActual
	Month    string // of which month the actuals are, as addresses have it
	Names    map[string]string
	Today    string     // as browsers take a day
	Open     string     // the form that was refused
	Typed    url.Values // into it
	Replaces bool       // whether it may take another's place was asked
	Late     bool       // whether what is closed may count later was asked
}

// Val is what a form's field has: what was typed into it, or what it begins with.
func (r rates) Val(form, field, begins string) string {
	if r.Open != form {
		return begins
	}
	return r.Typed.Get(field)
}

// Has reports whether a box of a form was ticked.
func (r rates) Has(form, field string) bool { return r.Open == form && r.Typed.Get(field) != "" }

// Day writes a day of the calendar.
func (rates) Day(v *web.View, d *date.Date) string { return dayText(v.Voice, d) }

// Name is what people call whoever a rate is of.
func (r rates) Name(person string) string { return cmp.Or(r.Names[person], person) }

// MonthText is the month of what was spent, for people.
func (r rates) MonthText(v *web.View) string { return monthText(v.Voice, r.Month) }

func showRates(w http.ResponseWriter, a *web.Asked) error { return showRatesWith(w, a, "", nil) }

func showRatesWith(w http.ResponseWriter, a *web.Asked, open string, refused error) error {
	it, err := loadRates(a)
	if err != nil {
		return err
	}
	it.Open, it.Typed = open, a.PostForm
	it.Replaces = a.PostFormValue("replaces") != "" || slices.ContainsFunc([]string{"RATE_OVERLAPS", "BURDEN_OVERLAPS", "STANDARD_RATE_OVERLAPS", "OVERHEAD_RATE_OVERLAPS"},
		func(reason string) bool { return isReason(refused, reason) })
	it.Late = a.PostFormValue("late") != "" || isReason(refused, "COUNTS_LATE")
	return a.ShowRefused(w, "money", title(a, "rates"), page{Tab: "rates", Rates: &it}, refused)
}

func loadRates(a *web.Asked) (it rates, err error) {
	now := a.Now().In(a.Voice.Zone)
	it.Today, it.Month, it.Names = now.Format(time.DateOnly), now.Format("2006-01"), map[string]string{}
	reading, ctx := errgroup.WithContext(a.Context())
	s := a.Kit.Suite
	all(reading, ctx, &it.People, func(ctx context.Context, token string) ([]*workflowv1.Person, string, error) {
		r, err := s.People.ListPeople(ctx, &workflowv1.ListPeopleRequest{PageSize: pageSize, PageToken: token})
		return r.GetPeople(), r.GetNextPageToken(), err
	})
	all(reading, ctx, &it.Pay, func(ctx context.Context, token string) ([]*costingv1.PayRate, string, error) {
		r, err := s.Rates.ListPayRates(ctx, &costingv1.ListPayRatesRequest{PageSize: pageSize, PageToken: token})
		return r.GetPayRates(), r.GetNextPageToken(), err
	})
	all(reading, ctx, &it.Burdens, func(ctx context.Context, token string) ([]*costingv1.Burden, string, error) {
		r, err := s.PayRules.ListBurdens(ctx, &costingv1.ListBurdensRequest{PageSize: pageSize, PageToken: token})
		return r.GetBurdens(), r.GetNextPageToken(), err
	})
	all(reading, ctx, &it.Standard, func(ctx context.Context, token string) ([]*costingv1.StandardRate, string, error) {
		r, err := s.Answers.ListStandardRates(ctx, &costingv1.ListStandardRatesRequest{PageSize: pageSize, PageToken: token})
		return r.GetStandardRates(), r.GetNextPageToken(), err
	})
	all(reading, ctx, &it.Overhead, func(ctx context.Context, token string) ([]*costingv1.OverheadRate, string, error) {
		r, err := s.Overhead.ListOverheadRates(ctx, &costingv1.ListOverheadRatesRequest{PageSize: pageSize, PageToken: token})
		return r.GetOverheadRates(), r.GetNextPageToken(), err
	})
	all(reading, ctx, &it.Actuals, func(ctx context.Context, token string) ([]*costingv1.OverheadActual, string, error) {
		r, err := s.Overhead.ListOverheadActuals(ctx, &costingv1.ListOverheadActualsRequest{PageSize: pageSize, PageToken: token, Month: wire.ToDay(now)})
		return r.GetOverheadActuals(), r.GetNextPageToken(), err
	})
	if err := reading.Wait(); err != nil {
		return it, it.Missing.Of(err)
	}
	it.order()
	return it, nil
}

// all reads every page of a list beside other lists.
func all[T any](reading *errgroup.Group, ctx context.Context, into *[]T, list func(context.Context, string) ([]T, string, error)) { //nolint:revive // the group owns the context
	reading.Go(func() (err error) {
		*into, err = clients.All(ctx, list)
		return err
	})
}

// order puts what is of one person or department together, the latest first.
func (r *rates) order() {
	for _, p := range r.People {
		r.Names[p.Name] = p.DisplayName
	}
	slices.SortStableFunc(r.Pay, func(x, y *costingv1.PayRate) int {
		return cmp.Or(cmp.Compare(r.Name(x.Person), r.Name(y.Person)), latest(x.EffectiveDate, y.EffectiveDate))
	})
	slices.SortStableFunc(r.Burdens, func(x, y *costingv1.Burden) int {
		return cmp.Or(cmp.Compare(r.Names[x.Person], r.Names[y.Person]), latest(x.EffectiveDate, y.EffectiveDate))
	})
	slices.SortStableFunc(r.Standard, func(x, y *costingv1.StandardRate) int { return latest(x.EffectiveDate, y.EffectiveDate) })
	slices.SortStableFunc(r.Overhead, func(x, y *costingv1.OverheadRate) int {
		return cmp.Or(cmp.Compare(x.Department, y.Department), latest(x.EffectiveDate, y.EffectiveDate))
	})
}

func latest(x, y *date.Date) int { return cmp.Compare(typed.Day(y), typed.Day(x)) }
