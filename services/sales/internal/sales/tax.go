package sales

import (
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// TaxPlace is somewhere that sales are taxed, as the owner stated it.
type TaxPlace struct {
	ID      id.ID
	Name    string
	Key     string    // the name folded, as names are compared
	Rates   []TaxRate // the earliest first
	Default bool      // what is sold and says no place is sold here
	Retired bool
	Version int64
}

// TaxRate is what a place takes from a day on, until the next rate holds.
type TaxRate struct {
	From          time.Time       // a calendar day, at midnight UTC
	Percent       decimal.Decimal // from 0 to 100, of up to four places
	DeliveryTaxed bool            // a charge for delivery is taxed too
}

// ErrNoTaxPlace is the fault about a place that nobody stated.
var ErrNoTaxPlace = fault.New(fault.NotFound, "TAX_PLACE_NOT_FOUND", "Nobody stated the sales tax of such a place; look it up in the list of places, or state it.").At("tax_place")

// State states a rate; one of the same day is replaced, and a place that was retired is taken up again. The only place in use is the
// default one whether that is said or not, or sales would go untaxed and nobody would notice. Fault: TAX_PERCENT_OUT_OF_RANGE.
func (p *TaxPlace) State(name string, rate TaxRate, makeDefault bool, inUse []TaxPlace) error {
	if rate.Percent.IsNegative() || rate.Percent.GreaterThan(hundred) {
		return fault.New(fault.Invalid, "TAX_PERCENT_OUT_OF_RANGE", "A sales tax is from 0 to 100 percent; %s is not that.", rate.Percent).At("percent")
	}
	rates := slices.DeleteFunc(slices.Clone(p.Rates), func(r TaxRate) bool { return r.From.Equal(rate.From) })
	p.Rates = append(rates, rate)
	slices.SortFunc(p.Rates, func(a, b TaxRate) int { return a.From.Compare(b.From) })
	p.Name, p.Retired, p.Default = name, false, p.Default || makeDefault || !p.withOthers(inUse)
	p.Version++
	return nil
}

// Retire takes the place out of use; it is the default one no more, which it may be only if it is the last of those in use. Faults:
// TAX_PLACE_RETIRED, TAX_PLACE_IS_DEFAULT.
func (p *TaxPlace) Retire(inUse []TaxPlace) error {
	if err := p.open("name"); err != nil {
		return err
	}
	if p.Default && p.withOthers(inUse) {
		return fault.New(fault.Precondition, "TAX_PLACE_IS_DEFAULT",
			"What is sold and says no place is sold in %s; make another place the default first, then retire this one.", p.Name).At("name")
	}
	p.Retired, p.Default = true, false
	p.Version++
	return nil
}

// withOthers reports whether another place is in use beside this one.
func (p TaxPlace) withOthers(inUse []TaxPlace) bool {
	return slices.ContainsFunc(inUse, func(other TaxPlace) bool { return other.ID != p.ID })
}

func (p TaxPlace) open(field string) error {
	if p.Retired {
		return fault.New(fault.Precondition, "TAX_PLACE_RETIRED", "%s is retired, and nothing more is sold there; state its tax anew to take it up again.", p.Name).At(field)
	}
	return nil
}

// RateOn is the rate that holds on a day. Faults: TAX_PLACE_RETIRED, TAX_RATE_NOT_STATED.
func (p TaxPlace) RateOn(day time.Time) (TaxRate, error) {
	if err := p.open("tax_place"); err != nil {
		return TaxRate{}, err
	}
	for _, r := range slices.Backward(p.Rates) {
		if !r.From.After(day) {
			return r, nil
		}
	}
	return TaxRate{}, fault.New(fault.Precondition, "TAX_RATE_NOT_STATED",
		"Nobody stated what %s took on %s; state its rate from an earlier day, or say the tax as an amount.", p.Name, day.Format("2006-01-02")).At("tax_place")
}

// PlaceOf is where something is taxed that was sold on a day and says no place: at the default one of those in use; nil: nowhere, for
// none of them had a rate yet on that day. An exempt buyer needs no place. Fault: TAX_PLACE_UNSAID.
func PlaceOf(inUse []TaxPlace, day time.Time, exempt bool) (*TaxPlace, error) {
	if !slices.ContainsFunc(inUse, func(p TaxPlace) bool { return len(p.Rates) > 0 && !p.Rates[0].From.After(day) }) {
		return nil, nil
	}
	if n := slices.IndexFunc(inUse, func(p TaxPlace) bool { return p.Default }); n >= 0 {
		return &inUse[n], nil
	}
	if exempt {
		return nil, nil
	}
	return nil, fault.New(fault.Precondition, "TAX_PLACE_UNSAID",
		"Sales are taxed by place, and none of the places is the default; say where this is sold, or the tax as an amount, or make one the default.").At("tax_place")
}

// Of is the tax on an amount, a half of the smallest unit rounded up.
func (r TaxRate) Of(taxable money.Amount) money.Amount {
	return money.Amount(decimal.New(int64(taxable), -2).Mul(r.Percent).Round(0).IntPart())
}

// TaxTerms is how a sale is to be taxed.
type TaxTerms struct {
	Said   bool   // the tax is an amount that somebody said
	Place  string // empty: the default one, if there is any; of a client's own piece none
	Exempt bool
	Reason string // why the buyer is exempt, or the number of their certificate
}

// Check refuses terms that contradict themselves. Faults: TAX_SAID_TWICE, EXEMPT_REASON_MISSING, EXEMPT_REASON_ALONE.
func (t TaxTerms) Check() error {
	switch {
	case t.Said && (t.Place != "" || t.Exempt):
		return fault.New(fault.Invalid, "TAX_SAID_TWICE",
			"Say the tax as an amount, or let it be reckoned by a place or left away for an exempt buyer; not both.").At("tax")
	case t.Exempt && t.Reason == "":
		return fault.New(fault.Invalid, "EXEMPT_REASON_MISSING",
			"Say why the buyer pays no tax, or the number of their certificate; the tax office may ask for it.").At("exempt_reason")
	case !t.Exempt && t.Reason != "":
		return fault.New(fault.Invalid, "EXEMPT_REASON_ALONE", "A reason is given, but the buyer is not said to be exempt; say so, or leave the reason away.").At("exempt_reason")
	}
	return nil
}

// Taxed is by what the tax of a sale was reckoned; zero: it was said as an amount, or nobody said any.
type Taxed struct {
	Place        string
	Percent      decimal.Decimal
	Taxable      money.Amount // what it was reckoned on
	Exempt       bool
	ExemptReason string
}

// Reckon sets the tax of a sale at a place, nil for none, on a day, and says by what. The price is taxed as a whole and rounded
// once. Faults: those of Check and of RateOn.
func (a *Amounts) Reckon(terms TaxTerms, place *TaxPlace, day time.Time) (Taxed, error) {
	out := Taxed{Exempt: terms.Exempt, ExemptReason: terms.Reason}
	if err := terms.Check(); err != nil || terms.Said || place == nil {
		return out, err
	}
	rate, err := place.RateOn(day)
	if err != nil {
		return out, err
	}
	out.Place, out.Percent = place.Name, rate.Percent
	if !terms.Exempt {
		out.Taxable = a.Price
		a.Tax = rate.Of(a.Price)
	}
	return out, nil
}
