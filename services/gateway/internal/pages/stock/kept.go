package stock

import (
	"fmt"
	"strings"

	"google.golang.org/protobuf/types/known/timestamppb"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/words"
)

// oilyCheck is that somebody saw to the oily waste.
type oilyCheck struct {
	Name, Actor, Word, Note string
	ConfirmTime             *timestamppb.Timestamp
}

// checksOf are those that stand.
func checksOf(all []*materialsv1.OilyWasteCheck) (out []oilyCheck) {
	for _, c := range all {
		if c.WithdrawTime == nil {
			out = append(out, oilyCheck{c.Name, c.Actor, wordOf(c.Way, "OILY_WASTE_WAY_"), c.Note, c.ConfirmTime})
		}
	}
	return out
}

// wasted is what was thrown away, with the word of its cause.
type wasted struct {
	*materialsv1.Waste
	Word string
}

func wastedOf(all []*materialsv1.Waste) (out []wasted) {
	for _, w := range all {
		out = append(out, wasted{w, wordOf(w.Cause, "WASTE_CAUSE_")})
	}
	return out
}

// wordOf is a value of an enumeration as the catalogue has it: metal_can.
func wordOf(e fmt.Stringer, prefix string) string {
	return strings.ToLower(strings.TrimPrefix(e.String(), prefix))
}

// Numbers are the categories of flammable liquids, of 29 CFR 1910.106(a)(19).
func (keeping) Numbers() []int { return []int{1, 2, 3, 4} }

// Named writes the month.
func (k keeping) Named(v *words.Voice) string {
	return v.T("month."+strings.ToLower(k.Month.Format("Jan"))) + k.Month.Format(" 2006")
}
