package buying

import (
	"cmp"
	"maps"
	"math"
	"net/url"
	"slices"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/words"
)

// answer is what to pay, and why.
type answer struct {
	Values  url.Values // the form as it was filled in, to be asked again
	What    string     // the piece, in short
	Note    string
	Verdict verdict
	Most    string
	Chance  string // how likely the target is at what is asked
	Loss    string
	Ranges  []ranged
	Dots    dots
	Drivers drivers
	Either  []string // one of them must hold
	Musts   []string // and these in any case
	Costs   []cost
	Basis   basis
	Work    string // how long until it can be sold
	Hazards []string

	Kept *line  // nil: it is not kept
	Want string // what was wanted of an hour then, where it is not what the terms say today; empty: it is
	Etag string
	Paid string // what the form of buying begins with
	From string // source
	Why  string // what was typed for leaving it
	Then string // the decision that was refused, whose form is open: bought, left; empty: none
}

// verdict is the answer in one sentence, with the class that colours it.
type verdict struct{ Word, Says, Class string }

// ranged is something that nobody knows for sure.
type ranged struct{ What, Low, Likely, High string }

// cost is what is taken off the price, on average.
type cost struct{ What, Amount string }

// basis is what the answer leans on.
type basis struct {
	Says     []string
	TooFew   bool
	Unpriced []string
	Likes    []*intakev1.Advice_Like
}

// field is one of the form, for those that carry it hidden.
type field struct{ Name, Value string }

// Hidden are the form's fields without some, to be carried along.
func (it answer) Hidden(without ...string) (out []field) {
	for _, name := range fields {
		for _, value := range it.Values[name] {
			if !slices.Contains(without, name) {
				out = append(out, field{name, value})
			}
		}
	}
	return out
}

// V is what a field of the form has.
func (it answer) V(name string) string { return it.Values.Get(name) }

// Change is the form with all that is in it.
func (it answer) Change() string { return "/buying?" + it.Values.Encode() }

// Again asks the same as of today, by the terms of today.
func (it answer) Again() string {
	q := maps.Clone(it.Values)
	q.Del("target")
	q.Del("chance")
	return adviceAddress(q)
}

// AsThen asks the same as of today, with the target and the chance of then.
func (it answer) AsThen() string { return adviceAddress(it.Values) }

// Next is the form for the next piece at the same sale.
func (it answer) Next() string {
	q := url.Values{}
	for _, name := range []string{"look", "source", "distance", "per", "channel"} {
		if v := it.Values.Get(name); v != "" {
			q.Set(name, v)
		}
	}
	return "/buying?" + q.Encode()
}

func answerOf(v *words.Voice, s *intakev1.Sighting, ad *intakev1.Advice) answer {
	it := answer{What: whatText(v, s), Note: s.GetNote(), Verdict: verdictOf(v, ad), Most: mostOf(v, ad, s.GetAskingPrice()), Hazards: hazardsOf(v, ad.GetHazards()),
		Basis: basisOf(v, ad), Paid: typed.Money(s.GetAskingPrice(), v.Currency), From: s.GetSource()}
	it.Chance = v.T("buying.chance", v.Percent(ad.GetChanceAtAsking()), v.Money(ad.GetTargetPerHour()), v.Percent(ad.GetChance()))
	it.Loss = v.T("buying.loss", v.Percent(ad.GetChanceOfLoss()))
	it.Ranges = rangesOf(v, ad)
	it.Dots = dotsOf(v, ad)
	it.Drivers = driversOf(v, ad, s.GetAskingPrice())
	it.Either, it.Musts = conditionsOf(v, ad.GetConditions())
	for _, c := range ad.GetCosts() {
		it.Costs = append(it.Costs, cost{v.T("buying.cost." + enum(c.What.String(), "WHAT_")), v.About(c.Amount)})
	}
	it.Work = v.N("buying.work", int(ad.GetDaysOfWork()))
	return it
}

// typed keeps what was typed into the forms of a decision that was refused.
func (it *answer) typed(form url.Values) {
	it.Then = form.Get("then")
	for field, to := range map[string]*string{"paid": &it.Paid, "from": &it.From, "reason": &it.Why} {
		if form.Has(field) {
			*to = form.Get(field)
		}
	}
}

// enum is a word of the contract as keys have it: WHAT_SALE_PRICE is sale_price.
func enum(word, prefix string) string { return strings.ToLower(strings.TrimPrefix(word, prefix)) }

// whatText is a piece in short.
func whatText(v *words.Voice, s *intakev1.Sighting) string {
	said := []string{cmp.Or(s.GetTitle(), kindText(v, s.GetKind())), v.Word("buying.material", slug(s.GetMaterial())), v.T("buying.to.be", v.Word("buying.look", slug(s.GetLook())))}
	if d := distanceText(v, s.GetDistanceKm()); d != "" {
		said = append(said, v.T("buying.away", d, distanceUnit(v)))
	}
	return strings.Join(said, " · ")
}

// verdictOf says the verdict, each with words of its own.
func verdictOf(v *words.Voice, ad *intakev1.Advice) verdict {
	switch ad.GetVerdict() {
	case intakev1.Advice_VERDICT_YES:
		return verdict{"yes", v.T("buying.verdict.yes"), "done"}
	case intakev1.Advice_VERDICT_NO:
		return verdict{"no", v.T("buying.verdict.no", chancesText(v, ad.GetChanceAsGift()), v.Money(ad.GetTargetPerHour()), v.Decimal(math.Ceil(ad.GetChance()*100-1e-9), 0)), "late"}
	}
	either, musts := conditionsOf(v, ad.GetConditions())
	first := append(either, musts...)
	if len(first) == 0 {
		first = []string{v.T("buying.if.pay_at_most", v.AtMost(ad.GetMostToPay()))}
	}
	return verdict{"only", v.T("buying.verdict.only", first[0]), "ready"}
}

// chancesText writes a chance as so many of a hundred chances, never more than it is.
func chancesText(v *words.Voice, of float64) string {
	switch whole := int(of*100 + 1e-9); {
	case of <= 0:
		return v.T("buying.chances.none")
	case whole == 0:
		return v.T("buying.chances.under")
	default:
		return v.T("buying.chances", whole)
	}
}

// conditionsOf says the conditions: those of which one is enough, what is paid first, and those that must hold anyhow.
func conditionsOf(v *words.Voice, all []*intakev1.Advice_Condition) (either, musts []string) {
	for _, c := range all {
		key := "buying.if." + enum(c.Kind.String(), "KIND_")
		switch c.Kind {
		case intakev1.Advice_Condition_KIND_PAY_AT_MOST:
			either = append([]string{v.T(key, v.AtMost(c.Money))}, either...)
		case intakev1.Advice_Condition_KIND_SELLS_FOR:
			either = append(either, v.T(key, v.AtLeast(c.Money)))
		case intakev1.Advice_Condition_KIND_HOURS_AT_MOST:
			either = append(either, v.T(key, v.HoursAtMost(c.Number)))
		case intakev1.Advice_Condition_KIND_PER_HOUR_AT_MOST:
			either = append(either, v.T(key, v.Money(c.Money)))
		case intakev1.Advice_Condition_KIND_LEAD_TEST, intakev1.Advice_Condition_KIND_PRICE_LOOKED_UP:
			musts = append(musts, v.T(key))
		}
	}
	return either, musts
}

// mostOf writes the most to pay: whole, rounded down, unless what is asked lies in between; below nothing it is nothing.
func mostOf(v *words.Voice, ad *intakev1.Advice, asked *moneyv1.Money) string {
	most, ok := wire.FromMoney(ad.GetMostToPay(), v.Currency.Digits)
	asks, _ := wire.FromMoney(asked, v.Currency.Digits)
	switch whole := v.AtMost(ad.GetMostToPay()); {
	case !ok || most < 0:
		return "0"
	case asks <= most && ad.MostToPay.Units == asked.GetUnits() && ad.MostToPay.Nanos > 0:
		return v.Amount(most)
	default:
		return whole
	}
}

func rangesOf(v *words.Voice, ad *intakev1.Advice) []ranged {
	about := func(key string, r *intakev1.MoneyRange) ranged {
		return ranged{v.T(key), v.About(r.GetLow()), v.About(r.GetLikely()), v.About(r.GetHigh())}
	}
	h, d, stuff := ad.GetHours(), ad.GetDaysToSell(), "buying.stuff"
	if len(ad.GetBasis().GetUnpriced()) > 0 {
		stuff = "buying.stuff.some" // what nobody has a price of is not in it
	}
	material := about(stuff, ad.GetMaterial())
	if materialUnknown(ad) {
		material = ranged{v.T("buying.stuff"), v.T("none"), v.T("buying.unknown"), v.T("none")}
	}
	return []ranged{
		about("buying.sale_price", ad.GetSalePrice()),
		{v.T("buying.hours"), v.HoursAbout(h.GetLow()), v.HoursAbout(h.GetLikely()), v.HoursAbout(h.GetHigh())},
		material,
		{v.T("buying.days"), daysText(v, d.GetLow()), daysText(v, d.GetLikely()), daysText(v, d.GetHigh())},
		about("buying.per.hour", ad.GetProfitPerHour()),
	}
}

// materialUnknown reports material of which no price at all is known.
func materialUnknown(ad *intakev1.Advice) bool {
	high := ad.GetMaterial().GetHigh()
	return len(ad.GetBasis().GetUnpriced()) > 0 && high.GetUnits() == 0 && high.GetNanos() == 0
}

// daysText writes days until a sale; 0 is not within the horizon of the selling terms.
func daysText(v *words.Voice, days float64) string {
	if days == 0 {
		return v.T("buying.days.later")
	}
	return v.Decimal(days, 0)
}

// basisOf says what the answer leans on.
func basisOf(v *words.Voice, ad *intakev1.Advice) basis {
	b := ad.GetBasis()
	it := basis{TooFew: b.GetTooFew(), Unpriced: b.GetUnpriced(), Likes: b.GetLikes()}
	it.Says = append(it.Says, v.N("buying.basis.sales", int(b.GetSales()), v.N("buying.basis.kind", int(b.GetSalesOfKind()))),
		v.T("buying.basis.belief", v.Percent(b.GetBelief())), v.T("buying.basis.hours", v.Percent(b.GetHoursUsual())))
	switch {
	case b.GetPartsGiven():
		it.Says = append(it.Says, v.T("buying.basis.parts.given"))
	case b.GetMeasuredPieces() > 0:
		it.Says = append(it.Says, v.N("buying.basis.parts.own", int(b.GetMeasuredPieces())))
	default:
		it.Says = append(it.Says, v.T("buying.basis.parts.usual"))
	}
	if size := sizeWord(b.GetFloorSaidOf()); size != "" {
		it.Says = append(it.Says, v.T("buying.basis.floor", v.Word("price.size", size)))
	}
	if materialUnknown(ad) {
		it.Says = append(it.Says, v.T("buying.unknown.why"))
	}
	return it
}

func hazardsOf(v *words.Voice, all []*intakev1.Advice_Hazard) (out []string) {
	for _, h := range all {
		out = append(out, v.Caution(h.Id, h.Says))
	}
	return out
}
