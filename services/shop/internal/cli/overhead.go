package cli

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type overheadCmd struct {
	Set      setOverheadCmd      `cmd:"" help:"Say what an hour carries of the overhead from a day on."`
	List     listOverheadCmd     `cmd:"" help:"List the overhead rates."`
	Estimate estimateOverheadCmd `cmd:"" help:"Reckon what an hour should carry, from a year's overhead and hours; nothing is set."`
	Actual   actualCmd           `cmd:"" help:"Overhead that was really spent."`
}

type setOverheadCmd struct {
	command
	PerHour    string   `help:"What an hour carries; 0: from then on the department has no rate of its own." required:"" placeholder:"AMOUNT"`
	From       string   `help:"The first day it holds, such as 2026-03-02." required:"" placeholder:"DAY"`
	By         string   `help:"Per hour of labour, or per hour that a stage is worked on by however many." enum:"labour,machine" default:"labour"`
	Department string   `help:"A word for a part of the shop that has its own rate, such as spray_booth; without it: the whole shop." placeholder:"WORD"`
	Kind       []string `help:"All kinds of stage that the department does from then on: topcoat_coat, sand …; repeat, or with commas between. What it did and is not named goes back to the whole shop's rate." placeholder:"KIND,…" sep:"none" xor:"kind"`
	AddKind    []string `help:"Kinds of stage that it does from then on beside those that it has." placeholder:"KIND,…" sep:"none" xor:"kind"`
	Replace    bool     `help:"It takes the place of the rate from the same day."`
}

// bases are the bases of overhead, as they are typed.
var bases = map[string]costingv1.OverheadBasis{
	"labour":  costingv1.OverheadBasis_OVERHEAD_BASIS_LABOUR_HOUR,
	"machine": costingv1.OverheadBasis_OVERHEAD_BASIS_MACHINE_HOUR,
}

func (c *setOverheadCmd) Run(e *env) error {
	from, err := client.Day(c.From)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &costingv1.SetOverheadRateRequest{RequestId: c.request(), Department: c.Department, StageKinds: words(append(c.Kind, c.AddKind...)), Adds: len(c.AddKind) > 0,
			Basis: bases[c.By], EffectiveDate: from, Replaces: c.Replace}
		if r.PerHour, err = terms.Amount(c.PerHour); err != nil {
			return err
		}
		resp, err := shop.Overhead.SetOverheadRate(e.ctx, r)
		if err != nil {
			return err
		}
		noteUnknown(e, resp.UnknownStageKinds...)
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "From %s on, %s carries %s per %s hour.%s\n", c.From, department(resp.OverheadRate), report.Money(resp.OverheadRate.PerHour), c.By, c.kinds(resp))
			return err
		})
	})
}

// kinds says which kinds of stage a department has now, and which it has no more.
func (c *setOverheadCmd) kinds(r *costingv1.SetOverheadRateResponse) (text string) {
	if kinds := r.OverheadRate.StageKinds; len(kinds) > 0 {
		text = fmt.Sprintf("\nIt does: %s.", strings.Join(kinds, ", "))
	}
	switch left := r.LeftStageKinds; len(left) {
	case 0:
		return text
	case 1:
		return text + fmt.Sprintf("\n%s goes back to the whole shop's rate from %s.", left[0], c.From)
	default:
		return text + fmt.Sprintf("\n%s go back to the whole shop's rate from %s.", strings.Join(left, ", "), c.From)
	}
}

// department names whose rate it is.
func department(r *costingv1.OverheadRate) string {
	return cmp.Or(report.Kind(r.GetDepartment()), "the whole shop")
}

type listOverheadCmd struct{ listOutput }

func (c *listOverheadCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		rates, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.OverheadRate, string, error) {
			r, err := shop.Overhead.ListOverheadRates(ctx, &costingv1.ListOverheadRatesRequest{PageSize: 1000, PageToken: token})
			return r.GetOverheadRates(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &costingv1.ListOverheadRatesResponse{OverheadRates: rates}, func() error { return printOverheadRates(e, rates) })
	})
}

func printOverheadRates(e *env, rates []*costingv1.OverheadRate) error {
	t := &report.Table{Headings: []string{"department", "stages", "from", " per hour", "of", "set by", ""}}
	for _, listed := range byDay(rates, (*costingv1.OverheadRate).GetDepartment) {
		r, of := listed.term, "labour"
		if r.Basis == costingv1.OverheadBasis_OVERHEAD_BASIS_MACHINE_HOUR {
			of = "machine"
		}
		t.Add(department(r), report.Kind(strings.Join(r.StageKinds, ", ")), client.WriteDay(r.EffectiveDate), report.Money(r.PerHour), of, r.Actor, listed.remark())
	}
	return t.Print(e.out)
}
