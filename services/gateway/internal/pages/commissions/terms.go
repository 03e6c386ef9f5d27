package commissions

import (
	"net/http"
	"net/url"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// termFields are those of the form of terms.
var termFields = []edits.Field{{Name: "rate"}, {Name: "markup"}, {Name: "tax"}, {Name: "deposit"}, {Name: "valid"}, {Name: "rule"}, {Name: "percent"}, {Name: "untaxed"}}

// rules are what is owed if a client cancels, by the form's words.
var rules = map[string]intakev1.CancelRule{"nothing": intakev1.CancelRule_CANCEL_RULE_NOTHING, "work": intakev1.CancelRule_CANCEL_RULE_WORK_DONE, "percent": intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT}

func ruleWord(r intakev1.CancelRule) string {
	for word, is := range rules {
		if is == r {
			return word
		}
	}
	return "work"
}

func termValues(v *words.Voice, t *intakev1.CommissionTerms) url.Values {
	q := url.Values{"rate": {typed.Money(t.GetRate(), v.Currency)}, "markup": {t.GetMarkupPercent()}, "tax": {t.GetTaxPercent()}, "deposit": {t.GetDepositPercent()}, "valid": {typed.Whole(t.GetValidDays())},
		"rule": {ruleWord(t.GetCancelRule())}, "percent": {t.GetCancelPercent()}, "untaxed": {""}}
	if t.GetLabourUntaxed() {
		q.Set("untaxed", "1")
	}
	if v.Minor(t.GetRate()) == 0 {
		q.Set("rate", "")
	}
	return q
}

func showTerms(w http.ResponseWriter, a *web.Asked) error {
	r, err := a.Kit.Suite.Commissions.GetCommissionTerms(a.Context(), &intakev1.GetCommissionTermsRequest{})
	if err != nil {
		return err
	}
	return show(w, a, a.Voice.T("commissions.terms"), page{Tab: "commissions/terms", Terms: sheetOf("commissions.term", termValues(a.Voice, r.Terms), r.Terms.GetEtag())}, nil)
}

func setTerms(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	t := &intakev1.CommissionTerms{Rate: f.Money("rate"), MarkupPercent: percent(f, f.Text("markup")), TaxPercent: percent(f, f.Text("tax")), DepositPercent: percent(f, f.Text("deposit")), ValidDays: f.Whole("valid"),
		CancelRule: rules[f.Text("rule")], CancelPercent: percent(f, f.Text("percent")), LabourUntaxed: f.Text("untaxed") != ""}
	err := f.Err()
	if err == nil {
		_, err = a.Kit.Suite.Commissions.SetCommissionTerms(a.Context(), &intakev1.SetCommissionTermsRequest{RequestId: a.RequestID(), Terms: t, Etag: a.Typed("etag")})
	}
	if web.Refusal(err) {
		return termsRefused(w, a, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/commissions/terms", "commissions.terms.kept")
}

func termsRefused(w http.ResponseWriter, a *web.Asked, refused error) error {
	r, err := a.Kit.Suite.Commissions.GetCommissionTerms(a.Context(), &intakev1.GetCommissionTermsRequest{})
	if err != nil {
		return err
	}
	s, refused := refusedSheet(a, "commissions.term", termFields, termValues(a.Voice, r.Terms), r.Terms.GetEtag(), refused)
	return show(w, a, a.Voice.T("commissions.terms"), page{Tab: "commissions/terms", Terms: s}, refused)
}
