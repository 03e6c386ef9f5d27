package stock

import (
	"strings"

	"github.com/shopspring/decimal"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/words"
)

// A trough is drawn troughLong wide; its wall stands at troughWall, which is the limit. What spills over it
// reaches the end at a quarter more than the limit.
const (
	troughWall = 240
	troughLong = 300
)

// flammables are the sums that have a limit, by area and by place, and those that have none.
type flammables struct {
	Kept []kept
	Any  bool // something is there at all
}

// kept is flammable liquid that counts together.
type kept struct {
	Area       bool // it is what stands in the open in a fire area, and no place
	Guessed    bool // of an area: nobody said which
	Name       string
	Kind       string // of a place: open, cabinet …; empty: nobody said
	Fire       string
	Categories [5]*typev1.Quantity // by category, 1 to 4
	Unknown    []*materialsv1.Flammables_Unknown
	Limits     []trough
	Said       []*typev1.Said
	Text       string
}

// trough is one limit, and how full it is drawn.
type trough struct {
	*materialsv1.Flammables_Limit
	Of     string // a key of the catalogue's words
	Filled int    // up to where, of troughWall
	Spilt  int    // how far beyond the wall; 0: nothing is
	Share  int    // of the limit, percent, rounded up: a drop above it shows as 101
}

func flammablesOf(r *materialsv1.GetFlammablesResponse) (out flammables) {
	for _, f := range r.GetAreas() {
		out.Kept = append(out.Kept, keptOf(f, true))
	}
	for _, f := range r.GetPlaces() {
		out.Kept = append(out.Kept, keptOf(f, false))
	}
	for i, k := range out.Kept {
		out.Kept[i].Guessed = k.Area && k.Fire == "" && len(r.Areas) > 1
		for _, q := range k.Categories {
			out.Any = out.Any || q != nil
		}
		out.Any = out.Any || len(k.Unknown) > 0
	}
	return out
}

// Called says what it is, in the reader's language where it has no name of its own.
func (k kept) Called(v *words.Voice) string {
	switch {
	case k.Guessed:
		return v.T("keeping.area.unsaid")
	case k.Area && k.Fire == "":
		return v.T("keeping.building")
	case k.Area:
		return v.T("keeping.area", k.Fire)
	case k.Name == "":
		return v.T("keeping.nowhere")
	}
	return k.Name
}

// Sums are the amounts of categories 1 to 4.
func (k kept) Sums() []*typev1.Quantity { return k.Categories[1:] }

func keptOf(f *materialsv1.Flammables, area bool) kept {
	k := kept{Area: area, Name: f.DisplayName, Fire: f.FireArea, Unknown: f.Unknown, Said: f.Said, Text: f.Text}
	if f.Kind != materialsv1.Place_KIND_UNSPECIFIED {
		k.Kind = strings.ToLower(strings.TrimPrefix(f.Kind.String(), "KIND_"))
	}
	for _, c := range f.Categories {
		if c.Category >= 1 && int(c.Category) < len(k.Categories) {
			k.Categories[c.Category] = c.Quantity
		}
	}
	for _, l := range f.Limits {
		k.Limits = append(k.Limits, troughOf(l))
	}
	return k
}

func troughOf(l *materialsv1.Flammables_Limit) trough {
	t := trough{Flammables_Limit: l, Of: strings.ReplaceAll(l.Of, " ", "_")}
	held, limit := exact(l.Held), exact(l.Limit)
	if !limit.IsPositive() {
		return t
	}
	reach := int(held.Mul(decimal.NewFromInt(troughWall)).Div(limit).RoundUp(0).IntPart())
	t.Filled, t.Spilt = min(reach, troughWall), max(0, min(reach, troughLong)-troughWall)
	t.Share = int(held.Shift(2).Div(limit).RoundUp(0).IntPart())
	return t
}
