package money

import (
	"net/http"
	"strings"

	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// deeds are the forms by which what the books reckon with is set.
var deeds = map[string]func(*web.Asked, *typed.Form) error{
	"pay": setPay, "burden": setBurden, "standard": setStandard, "overhead": setOverhead, "spent": enterSpent, "back": takeBackSpent,
}

func setRate(w http.ResponseWriter, a *web.Asked) error {
	name := a.PathValue("deed")
	deed := deeds[name]
	if deed == nil {
		return fault.New(fault.NotFound, "DEED_UNKNOWN", "There is no such form on this page.")
	}
	err := deed(a, &typed.Form{Values: a.PostForm, Voice: a.Voice})
	if refusal(err) {
		return showRatesWith(w, a, name, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/money/rates", "money.rates.kept")
}

// needed refuses a form whose amount or day is not typed, for the services say of those only that they
// are missing.
func needed(f *typed.Form, amount *moneyv1.Money, from *date.Date) error {
	if err := f.Err(); err != nil {
		return err
	}
	if amount == nil {
		return fault.New(fault.Invalid, "AMOUNT_MISSING", "%s", f.Voice.T("money.rates.amount.missing"))
	}
	return neededDay(f, from)
}

func neededDay(f *typed.Form, from *date.Date) error {
	if err := f.Err(); err != nil {
		return err
	}
	if from == nil {
		return fault.New(fault.Invalid, "DAY_MISSING", "%s", f.Voice.T("money.rates.day.missing"))
	}
	return nil
}

func setPay(a *web.Asked, f *typed.Form) error {
	r := &costingv1.SetPayRateRequest{RequestId: a.RequestID(), Person: a.Typed("person"), PerHour: f.Money("amount"), EffectiveDate: f.Day("from"),
		Replaces: a.Typed("replaces") != "", PayLate: a.Typed("late") != ""}
	if err := needed(f, r.PerHour, r.EffectiveDate); err != nil {
		return err
	}
	_, err := a.Kit.Suite.Rates.SetPayRate(a.Context(), r)
	return err
}

func setBurden(a *web.Asked, f *typed.Form) error {
	r := &costingv1.SetBurdenRequest{RequestId: a.RequestID(), Person: a.Typed("person"), Percent: strings.Replace(a.Typed("percent"), ",", ".", 1), EffectiveDate: f.Day("from"),
		Replaces: a.Typed("replaces") != "", Ends: a.Typed("ends") != "", PayLate: a.Typed("late") != ""}
	if err := neededDay(f, r.EffectiveDate); err != nil {
		return err
	}
	_, err := a.Kit.Suite.PayRules.SetBurden(a.Context(), r)
	return err
}

func setStandard(a *web.Asked, f *typed.Form) error {
	r := &costingv1.SetStandardRateRequest{RequestId: a.RequestID(), PerHour: f.Money("amount"), EffectiveDate: f.Day("from"), Replaces: a.Typed("replaces") != ""}
	if err := needed(f, r.PerHour, r.EffectiveDate); err != nil {
		return err
	}
	_, err := a.Kit.Suite.Answers.SetStandardRate(a.Context(), r)
	return err
}

func setOverhead(a *web.Asked, f *typed.Form) error {
	r := &costingv1.SetOverheadRateRequest{RequestId: a.RequestID(), Department: word(a.Typed("department")), PerHour: f.Money("amount"), EffectiveDate: f.Day("from"),
		Basis: costingv1.OverheadBasis_OVERHEAD_BASIS_LABOUR_HOUR, Replaces: a.Typed("replaces") != "", Adds: a.Typed("adds") != ""}
	if a.Typed("basis") == "machine" {
		r.Basis = costingv1.OverheadBasis_OVERHEAD_BASIS_MACHINE_HOUR
	}
	for kind := range strings.SplitSeq(a.Typed("kinds"), ",") {
		if kind = word(kind); kind != "" {
			r.StageKinds = append(r.StageKinds, kind)
		}
	}
	if err := needed(f, r.PerHour, r.EffectiveDate); err != nil {
		return err
	}
	_, err := a.Kit.Suite.Overhead.SetOverheadRate(a.Context(), r)
	return err
}

// word makes a word of the shop's of what was typed: spray booth is spray_booth.
func word(text string) string { return strings.Join(strings.Fields(strings.ToLower(text)), "_") }

func enterSpent(a *web.Asked, f *typed.Form) error {
	r := &costingv1.EnterOverheadActualRequest{RequestId: a.RequestID(), Date: f.Day("from"), What: a.Typed("what"), Amount: f.Money("amount"), Note: a.Typed("note")}
	if err := needed(f, r.Amount, r.Date); err != nil {
		return err
	}
	_, err := a.Kit.Suite.Overhead.EnterOverheadActual(a.Context(), r)
	return err
}

func takeBackSpent(a *web.Asked, _ *typed.Form) error {
	_, err := a.Kit.Suite.Overhead.TakeBackOverheadActual(a.Context(), &costingv1.TakeBackOverheadActualRequest{RequestId: a.RequestID(), Name: a.Typed("entry"), Reason: a.Typed("reason")})
	return err
}
