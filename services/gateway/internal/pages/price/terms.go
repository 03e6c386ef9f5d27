package price

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"tackfree/pkg/fault"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// terms is the form of what the shop reckons with in selling.
type terms struct {
	Values  url.Values
	Usual   url.Values // as advice goes by them where a field is empty
	Beliefs []belief
	Kinds   []string // that are suggested
	Was     string
	Etag    string
	Sides   []edits.Side
}

// belief is a row of what the owner believes of a kind.
type belief struct{ Kind, Low, High, Days string }

// blankBeliefs is how many rows there are beside those that are filled in.
const blankBeliefs = 2

// termFields are the form's fields; a belief is one line of a list, "dresser 250 420 30".
var termFields = []edits.Field{{Name: "small"}, {Name: "medium"}, {Name: "large"}, {Name: "fee"}, {Name: "between"}, {Name: "markdowns"}, {Name: "horizon"}, {Name: "salvage"}, {Name: "beliefs", Many: true}}

// V is what a field has.
func (t terms) V(field string) string { return t.Values.Get(field) }

// U is what stands where a field is empty.
func (t terms) U(field string) string { return t.Usual.Get(field) }

// valuesOf writes terms as the form takes them.
func valuesOf(v *words.Voice, t *salesv1.SellingTerms) url.Values {
	q := url.Values{"small": {typed.Money(t.GetHoldingSmall(), v.Currency)}, "medium": {typed.Money(t.GetHoldingMedium(), v.Currency)}, "large": {typed.Money(t.GetHoldingLarge(), v.Currency)}, "fee": {number(t.GetFeePercent())},
		"between": {typed.WholeSaid(t.DaysBetweenMarkdowns)}, "markdowns": {typed.WholeSaid(t.MostMarkdowns)}, "horizon": {typed.WholeSaid(t.HorizonDays)}, "salvage": {typed.Number(t.SalvagePercent)}}
	for _, b := range t.GetBeliefs() {
		q.Add("beliefs", beliefLine(belief{b.Kind, typed.Money(b.GetPrice().GetLow(), v.Currency), typed.Money(b.GetPrice().GetHigh(), v.Currency), typed.Whole(b.DaysLikely)}))
	}
	slices.Sort(q["beliefs"])
	return q
}

func number(f float64) string {
	if f == 0 {
		return ""
	}
	return strconv.FormatFloat(f, 'f', -1, 64)
}

// between two fields of a line; no field has it.
const between = "\t"

func beliefLine(b belief) string {
	return strings.Join([]string{b.Kind, b.Low, b.High, b.Days}, between)
}

func splitBelief(line string) (b belief) {
	parts := append(strings.Split(line, between), "", "", "", "")
	return belief{parts[0], parts[1], parts[2], parts[3]}
}

// rowsIn are the rows of beliefs as they were typed; a row without a kind says nothing.
func rowsIn(form url.Values) (rows []belief) {
	at := func(field string, i int) string {
		if i < len(form[field]) {
			return strings.TrimSpace(form[field][i])
		}
		return ""
	}
	for i := range form["kind"] {
		if b := (belief{at("kind", i), at("low", i), at("high", i), at("days", i)}); b.Kind != "" {
			rows = append(rows, b)
		}
	}
	return rows
}

// typedValues are what was typed, as valuesOf writes it.
func typedValues(form url.Values) url.Values {
	q := url.Values{}
	for _, f := range termFields {
		if !f.Many {
			q.Set(f.Name, strings.TrimSpace(form.Get(f.Name)))
		}
	}
	for _, b := range rowsIn(form) {
		q.Add("beliefs", beliefLine(b))
	}
	slices.Sort(q["beliefs"])
	return q
}

// termsOf reads the form. Faults: BELIEF_HALF and those of package typed.
func termsOf(f *typed.Form) (*salesv1.SellingTerms, error) {
	t := &salesv1.SellingTerms{HoldingSmall: f.Money("small"), HoldingMedium: f.Money("medium"), HoldingLarge: f.Money("large"), DaysBetweenMarkdowns: f.WholeSaid("between"),
		MostMarkdowns: f.WholeSaid("markdowns"), HorizonDays: f.WholeSaid("horizon"), SalvagePercent: f.Number("salvage")}
	if fee := f.Number("fee"); fee != nil {
		t.FeePercent = *fee
	}
	for _, b := range rowsIn(f.Values) {
		row := &typed.Form{Voice: f.Voice, Values: url.Values{"low": {b.Low}, "high": {b.High}, "days": {b.Days}}}
		low, high, days := row.Money("low"), row.Money("high"), row.Whole("days")
		if err := row.Err(); err != nil {
			return t, err
		}
		if low == nil || high == nil {
			return t, fault.New(fault.Invalid, "BELIEF_HALF", "%s", f.Voice.T("price.belief.half", b.Kind)).At("beliefs")
		}
		t.Beliefs = append(t.Beliefs, &salesv1.SellingTerms_Belief{Kind: strings.ToLower(b.Kind), Price: &salesv1.Guess{Low: low, High: high}, DaysLikely: days})
	}
	return t, f.Err()
}

// formOf lays the form out.
func formOf(q url.Values, etag string, was url.Values) terms {
	t := terms{Values: q, Etag: etag, Was: was.Encode(), Kinds: slices.Sorted(slices.Values(typed.Kinds))}
	for _, line := range q["beliefs"] {
		t.Beliefs = append(t.Beliefs, splitBelief(line))
	}
	t.Beliefs = append(t.Beliefs, make([]belief, blankBeliefs)...)
	return t
}

func showTerms(w http.ResponseWriter, a *web.Asked) error {
	r, err := a.Kit.Suite.Prices.GetSellingTerms(a.Context(), &salesv1.GetSellingTermsRequest{})
	if err != nil {
		return err
	}
	q := valuesOf(a.Voice, r.Terms)
	it := formOf(q, r.Terms.GetEtag(), q)
	it.Usual = valuesOf(a.Voice, r.InForce)
	if kind := a.URL.Query().Get("kind"); kind != "" && !slices.ContainsFunc(it.Beliefs, func(b belief) bool { return strings.EqualFold(b.Kind, kind) }) {
		it.Beliefs[len(it.Beliefs)-blankBeliefs].Kind = kind
	}
	return show(w, a, a.Voice.T("price.terms"), page{Terms: &it}, nil)
}

// setTerms keeps them. Where somebody else kept others meanwhile, both are shown and nothing is kept.
func setTerms(w http.ResponseWriter, a *web.Asked) error {
	t, err := termsOf(&typed.Form{Values: a.PostForm, Voice: a.Voice})
	if err == nil {
		_, err = a.Kit.Suite.Prices.SetSellingTerms(a.Context(), &salesv1.SetSellingTermsRequest{RequestId: a.RequestID(), Terms: t, Etag: a.Typed("etag")})
	}
	if web.Refusal(err) {
		return showTermsRefused(w, a, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/money/terms", "price.terms.kept")
}

// showTermsRefused shows the form with what was typed; where others kept something meanwhile, with both.
func showTermsRefused(w http.ResponseWriter, a *web.Asked, refused error) error {
	mine := typedValues(a.PostForm)
	was, err := url.ParseQuery(a.Typed("was"))
	if err != nil {
		was = url.Values{}
	}
	r, err := a.Kit.Suite.Prices.GetSellingTerms(a.Context(), &salesv1.GetSellingTermsRequest{})
	if err != nil {
		return err
	}
	it := formOf(mine, a.Typed("etag"), was)
	if fault.Is(refused, "ETAG_MISMATCH") {
		now := valuesOf(a.Voice, r.Terms)
		it = formOf(edits.Merge(termFields, was, now, mine), r.Terms.GetEtag(), now)
		it.Sides = edits.Compare(termFields, was, now, mine)
		refused = fault.New(fault.Conflict, "CHANGED_MEANWHILE", "%s", a.Voice.T("edits.changed"))
	}
	it.Usual = valuesOf(a.Voice, r.InForce)
	return show(w, a, a.Voice.T("price.terms"), page{Terms: &it}, refused)
}
