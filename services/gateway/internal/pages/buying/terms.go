package buying

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// terms is the form of what an hour is to earn, and what fetching a piece costs.
type terms struct {
	Values url.Values
	Was    string // as they were when the form was opened
	Etag   string
	Then   string // the answer that waits for them; empty: none
	Unit   string // of distances
	Sides  []edits.Side
}

// termFields are the form's fields.
var termFields = []edits.Field{{Name: "target"}, {Name: "chance"}, {Name: "labour"}, {Name: "travel"}, {Name: "speed"}, {Name: "handling"}}

// V is what a field has.
func (t terms) V(field string) string { return t.Values.Get(field) }

// termValues writes terms as the form takes them, per mile for whoever reads miles. Kilometres are what is
// kept: to the cent, so that 0.70 a mile comes back as 0.69.
func termValues(v *words.Voice, t *intakev1.BuyingTerms) url.Values {
	said := func(m *moneyv1.Money) string { // what nobody said yet comes as nothing, and is typed into a blank field
		if v.Minor(m) == 0 {
			return ""
		}
		return typed.Money(m, v.Currency)
	}
	q := url.Values{"target": {said(t.GetTargetPerHour())}, "labour": {said(t.GetLabourPerHour())}, "travel": {said(scaled(v, t.GetTravelPerKm(), perUnit(distanceUnit(v))))}}
	if t != nil && t.HandlingMinutes != nil { // none at all is said, too
		q.Set("handling", strconv.Itoa(int(t.GetHandlingMinutes())))
	}
	if t.GetChance() > 0 {
		q.Set("chance", tenth(t.GetChance()*100))
	}
	if t.GetKmPerHour() > 0 {
		q.Set("speed", tenth(t.GetKmPerHour()/perUnit(distanceUnit(v))))
	}
	return q
}

// scaled is an amount times a factor, rounded once to the nearest minor unit; nil stays nil.
func scaled(v *words.Voice, m *moneyv1.Money, factor float64) *moneyv1.Money {
	if m == nil || factor == 1 {
		return m
	}
	const exact = 1_000_000 // kilometres of a mile have six digits
	return wire.Shop{Currency: v.Currency}.ToMoney(money.MulDiv(money.Amount(v.Minor(m)), int64(factor*exact+.5), exact))
}

// termsOf reads the form. Fault: HOURLY_TARGET_MISSING and those of package typed.
func termsOf(f *typed.Form) (*intakev1.BuyingTerms, error) {
	per := perUnit(f.Text("per"))
	t := &intakev1.BuyingTerms{TargetPerHour: f.Money("target"), LabourPerHour: f.Money("labour"), TravelPerKm: scaled(f.Voice, f.Money("travel"), 1/per)}
	if f.Text("handling") != "" {
		minutes := f.Whole("handling")
		t.HandlingMinutes = &minutes
	}
	if chance := f.Number("chance"); chance != nil {
		t.Chance = *chance / 100
	}
	if speed := f.Number("speed"); speed != nil {
		t.KmPerHour = *speed * per
	}
	err := f.Err()
	if err == nil && t.TargetPerHour == nil {
		err = fault.New(fault.Invalid, "HOURLY_TARGET_MISSING", "%s", f.Voice.T("buying.terms.target.missing")).At("target_per_hour")
	}
	return t, err
}

func showTerms(w http.ResponseWriter, a *web.Asked) error {
	r, err := a.Kit.Suite.Prospects.GetBuyingTerms(a.Context(), &intakev1.GetBuyingTermsRequest{})
	if err != nil {
		return err
	}
	it := terms{Values: termValues(a.Voice, r.Terms), Etag: r.Terms.GetEtag(), Then: a.URL.Query().Get("then"), Unit: distanceUnit(a.Voice)}
	it.Was = it.Values.Encode()
	return show(w, a, a.Voice.T("buying.terms"), page{Tab: "terms", Terms: &it}, nil)
}

// setTerms keeps them, and goes on to the answer that waited for them. Where somebody else kept others
// meanwhile, both are shown and nothing is kept.
func setTerms(w http.ResponseWriter, a *web.Asked) error {
	f := wishForm(a.Voice, a.PostForm)
	t, err := termsOf(f)
	if err == nil {
		_, err = a.Kit.Suite.Prospects.SetBuyingTerms(a.Context(), &intakev1.SetBuyingTermsRequest{RequestId: a.RequestID(), Terms: t, Etag: a.Typed("etag")})
	}
	if web.Refusal(err) {
		return showTermsRefused(w, a, err)
	}
	if err != nil {
		return err
	}
	if then := a.Typed("then"); strings.HasPrefix(then, "/buying/advice?") {
		return a.After(w, then, "buying.terms.kept")
	}
	return a.After(w, "/buying/terms", "buying.terms.kept")
}

func showTermsRefused(w http.ResponseWriter, a *web.Asked, refused error) error {
	it := terms{Values: a.PostForm, Was: a.Typed("was"), Etag: a.Typed("etag"), Then: a.Typed("then"), Unit: distanceUnit(a.Voice)}
	if fault.Is(refused, "ETAG_MISMATCH") {
		r, err := a.Kit.Suite.Prospects.GetBuyingTerms(a.Context(), &intakev1.GetBuyingTermsRequest{})
		if err != nil {
			return err
		}
		was, err := url.ParseQuery(it.Was)
		if err != nil {
			return err
		}
		now := termValues(a.Voice, r.Terms)
		it.Sides, it.Values = edits.Compare(termFields, was, now, a.PostForm), edits.Merge(termFields, was, now, a.PostForm)
		it.Was, it.Etag = now.Encode(), r.Terms.GetEtag()
		refused = fault.New(fault.Conflict, "CHANGED_MEANWHILE", "%s", a.Voice.T("edits.changed"))
	}
	return show(w, a, a.Voice.T("buying.terms"), page{Tab: "terms", Terms: &it}, refused)
}
