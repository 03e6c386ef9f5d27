// Package money is exact money: integer minor units of the shop's one currency.
// Trade, pure.
//
// An Amount carries no currency, for a shop keeps its books in one; the Currency
// stands beside it where amounts are read and written. Every division goes through
// Round, so the rounding rule (half to even) is stated once.
package money

import (
	"math/big"
	"strings"

	"github.com/shopspring/decimal"
	"golang.org/x/text/currency"

	"tackfree/pkg/fault"
	"tackfree/pkg/planted"
)

// Amount is a number of minor units: cents for USD, yen for JPY.
type Amount int64

// Max is the largest amount, either way, that the suite takes in: far above any
// furniture, and far below what could overflow a sum of millions of them.
const Max Amount = 1_000_000_000_000

// Currency is an ISO 4217 currency and the digits of its minor unit.
type Currency struct {
	Code   string
	Digits int
}

// digits holds the minor units that are not two (ISO 4217; the general locale data
// that libraries carry differs from it, for instance for IQD), and codes it lacks.
var digits = map[string]int{
	"BIF": 0, "CLP": 0, "DJF": 0, "GNF": 0, "ISK": 0, "JPY": 0, "KMF": 0, "KRW": 0, "PYG": 0, "RWF": 0,
	"UGX": 0, "UYI": 0, "VND": 0, "VUV": 0, "XAF": 0, "XOF": 0, "XPF": 0,
	"BHD": 3, "IQD": 3, "JOD": 3, "KWD": 3, "LYD": 3, "OMR": 3, "TND": 3,
	"CLF": 4, "UYW": 4,
	// Newer than the locale data.
	"MRU": 2, "SLE": 2, "STN": 2, "VES": 2, "XCG": 2, "ZWG": 2,
}

// CurrencyOf finds a currency by its three-letter code. An unknown one is a fault
// CURRENCY_UNKNOWN.
func CurrencyOf(code string) (Currency, error) {
	d, special := digits[code]
	if !special {
		d = 2
		if unit, err := currency.ParseISO(code); err != nil || unit.String() != code {
			return Currency{}, fault.New(fault.Invalid, "CURRENCY_UNKNOWN",
				"%q is not an ISO 4217 currency code, such as USD or EUR.", code)
		}
	}
	return Currency{Code: code, Digits: d}, nil
}

// Parse reads "12", "12.5" or "-12.50" as an amount. More digits than the currency
// has, or an amount above Max, is a fault AMOUNT_MALFORMED.
func (c Currency) Parse(s string) (Amount, error) {
	d, err := decimal.NewFromString(s)
	if err != nil || len(s) > 20 || strings.ContainsAny(s, "eE") {
		return 0, fault.New(fault.Invalid, "AMOUNT_MALFORMED", "%q is not an amount of %s, such as %s.", s, c.Code, c.Format(1250))
	}
	minor := d.Shift(int32(c.Digits))
	if !minor.IsInteger() {
		return 0, fault.New(fault.Invalid, "AMOUNT_MALFORMED", "%s has more digits than %s has (%d).", s, c.Code, c.Digits)
	}
	if minor.Abs().GreaterThan(decimal.New(int64(Max), 0)) {
		return 0, fault.New(fault.Invalid, "AMOUNT_MALFORMED", "%s is more than any shop's books hold.", s)
	}
	return Amount(minor.IntPart()), nil
}

// Format writes an amount with all its digits and no sign of the currency: "-12.50".
func (c Currency) Format(a Amount) string {
	return decimal.New(int64(a), -int32(c.Digits)).StringFixed(int32(c.Digits))
}

// Round gives the integer nearest to r, a half going to the even one.
func Round(r *big.Rat) Amount {
	floor, rest := new(big.Int).DivMod(r.Num(), r.Denom(), new(big.Int))
	// Twice the rest against the denominator tells below, at or above the half.
	if cmp := rest.Lsh(rest, 1).Cmp(r.Denom()); cmp > 0 || (cmp == 0 && floor.Bit(0) == 1) {
		floor.Add(floor, big.NewInt(1))
	}
	return Amount(floor.Int64())
}

// MulDiv gives a·num/den, rounded once; den must not be zero.
func MulDiv(a Amount, num, den int64) Amount {
	if planted.FloatMoney {
		return Amount(float64(a) * (float64(num) / float64(den)))
	}
	p := new(big.Int).Mul(big.NewInt(int64(a)), big.NewInt(num))
	return Round(new(big.Rat).SetFrac(p, big.NewInt(den)))
}
