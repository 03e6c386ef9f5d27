package buying

import (
	"net/http"
	"net/url"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// wishForm is a form that wishOf reads.
func wishForm(v *words.Voice, q url.Values) *typed.Form { return &typed.Form{Values: q, Voice: v} }

// advise answers what stands in the address.
func advise(w http.ResponseWriter, a *web.Asked) error {
	return adviseWith(w, a, told(a.URL.Query()), nil)
}

// adviseWith shows the answer. What cannot be answered shows the form again; where nobody said yet what an
// hour is to earn, that is asked first.
func adviseWith(w http.ResponseWriter, a *web.Asked, q url.Values, refused error) error {
	it, err := answerTo(a, q)
	if fault.Is(err, "TERMS_MISSING") {
		return a.After(w, "/buying/terms?then="+url.QueryEscape(adviceAddress(q)), "buying.terms.first")
	}
	if web.Refusal(err) {
		return showSightingWith(w, a, q, err)
	}
	if err != nil {
		return err
	}
	if refused != nil {
		it.typed(a.PostForm)
	}
	return show(w, a, it.Verdict.Says, page{Tab: "look", Answer: it}, refused)
}

// answerTo asks intake.
func answerTo(a *web.Asked, q url.Values) (*answer, error) {
	it, err := wishOf(wishForm(a.Voice, q))
	if err != nil {
		return nil, err
	}
	r, err := a.Kit.Suite.Prospects.AdvisePurchase(a.Context(), &intakev1.AdvisePurchaseRequest{Sighting: it.Sighting, TargetPerHour: it.Target, Chance: it.Chance})
	if err != nil {
		return nil, err
	}
	out := answerOf(a.Voice, it.Sighting, r.Advice)
	out.Values = q
	return &out, nil
}

// adviceAddress is where a form is answered.
func adviceAddress(q url.Values) string { return "/buying/advice?" + q.Encode() }

// keep keeps what was seen; and with it that it was bought, or left. When only the first was done, the page
// of what is kept says why not the second.
func keep(w http.ResponseWriter, a *web.Asked) error {
	q := told(a.PostForm)
	it, err := wishOf(wishForm(a.Voice, q))
	if err == nil {
		err = decidable(a, a.Typed("then"))
	}
	var r *intakev1.AddProspectResponse
	if err == nil {
		r, err = a.Kit.Suite.Prospects.AddProspect(a.Context(), &intakev1.AddProspectRequest{RequestId: a.RequestID(), Sighting: it.Sighting, TargetPerHour: it.Target, Chance: it.Chance})
	}
	if web.Refusal(err) {
		return adviseWith(w, a, q, err)
	}
	if err != nil {
		return err
	}
	switch p := r.Prospect; a.Typed("then") {
	case "bought":
		return buy(w, a, p)
	case "left":
		return decline(w, a, p)
	default:
		return a.After(w, addressOf(p), "buying.kept")
	}
}
