package buying

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/words"
)

// fields are what the form has and an address carries, in the form's order.
var fields = []string{"kind", "other", "size", "material", "old", "wrong", "look", "asking", "distance", "per", "low", "high", "source", "note",
	"title", "species", "painted", "extra", "channel", "chance", "target", "part", "count", "length", "width", "thickness", "unit"}

// wish is what is asked of intake: what was seen, and what of the terms is to be otherwise this once.
type wish struct {
	Sighting *intakev1.Sighting
	Target   *moneyv1.Money
	Chance   float64
}

// wishOf reads the form. Faults: those of package typed, and KIND_MISSING, SIZE_MISSING, LOOK_MISSING, ASKING_MISSING
// where something is left out without which there is no answer, GUESS_HALF and LENGTH_MISSING.
func wishOf(f *typed.Form) (wish, error) {
	s := &intakev1.Sighting{Title: f.Text("title"), Kind: kindOf(f), Size: typed.Sizes[f.Text("size")], Material: f.Text("material"), Species: f.Text("species"),
		OldFinish: strings.TrimPrefix(f.Text("old"), bare), PaintedIn: f.Whole("painted"), Defects: f.Values["wrong"], ExtraCost: f.Money("extra"), Look: f.Text("look"),
		AskingPrice: f.Money("asking"), DistanceKm: distanceOf(f), Source: f.Text("source"), SellsLow: f.Money("low"), SellsHigh: f.Money("high"),
		Channel: f.Text("channel"), Note: f.Text("note"), Parts: partsOf(f)}
	it := wish{Sighting: s, Target: f.Money("target")}
	if percent := f.Number("chance"); percent != nil {
		it.Chance = *percent / 100
	}
	if err := f.Err(); err != nil {
		return it, err
	}
	return it, lacks(f.Voice, s)
}

// lacks says what was left out, for services say of such a field only that it is missing.
func lacks(v *words.Voice, s *intakev1.Sighting) error {
	for _, it := range []struct {
		missing       bool
		reason, field string
	}{
		{s.Kind == "", "KIND_MISSING", "kind"}, {s.Size == 0, "SIZE_MISSING", "size"}, {s.Material == "", "MATERIAL_MISSING", "material"},
		{s.Look == "", "LOOK_MISSING", "look"}, {s.AskingPrice == nil, "ASKING_MISSING", "asking"},
		{(s.SellsLow == nil) != (s.SellsHigh == nil), "GUESS_HALF", "guess"},
	} {
		if it.missing {
			return fault.New(fault.Invalid, it.reason, "%s", v.T("buying.missing."+it.field)).At(it.field)
		}
	}
	return nil
}

func kindOf(f *typed.Form) string {
	if kind := f.Text("kind"); kind != otherKind {
		return kind
	}
	return strings.ToLower(f.Text("other"))
}

// partsOf reads the measured parts; rows without a name are blank.
func partsOf(f *typed.Form) (out []*intakev1.Part) {
	at := func(field string, i int) string {
		if i < len(f.Values[field]) {
			return f.Values[field][i]
		}
		return ""
	}
	for i, label := range f.Values["part"] {
		if strings.TrimSpace(label) == "" {
			continue
		}
		row := &typed.Form{Voice: f.Voice, Values: url.Values{"count": {at("count", i)}, "length": {at("length", i)}, "width": {at("width", i)}, "thickness": {at("thickness", i)}, "unit": {f.Text("unit")}}}
		out = append(out, &intakev1.Part{Label: strings.TrimSpace(label), Count: row.Whole("count"), Length: row.Quantity("length", "unit"), Width: row.Quantity("width", "unit"),
			Thickness: row.Quantity("thickness", "unit")})
		if err := row.Err(); err != nil {
			f.Refuse(fault.Reason(err), "buying.part.unreadable", label)
		}
	}
	return out
}

// valuesOf writes what was seen as the form takes it, for whoever reads with that voice.
func valuesOf(v *words.Voice, s *intakev1.Sighting) url.Values {
	q := url.Values{"kind": {s.Kind}, "size": {sizeWord(s.Size)}, "material": {s.Material}, "old": {s.OldFinish}, "wrong": s.Defects, "look": {s.Look},
		"asking": {typed.Money(s.AskingPrice, v.Currency)}, "distance": {distanceText(v, s.DistanceKm)}, "per": {distanceUnit(v)}, "low": {typed.Money(s.SellsLow, v.Currency)}, "high": {typed.Money(s.SellsHigh, v.Currency)},
		"source": {s.Source}, "note": {s.Note}, "title": {s.Title}, "species": {s.Species}, "painted": {typed.Whole(s.PaintedIn)}, "extra": {typed.Money(s.ExtraCost, v.Currency)}, "channel": {s.Channel}}
	if s.OldFinish == "" {
		q.Set("old", bare)
	}
	if s.Kind != "" && !slices.Contains(typed.Kinds, s.Kind) {
		q.Set("kind", otherKind)
		q.Set("other", s.Kind)
	}
	for _, p := range s.Parts {
		q.Add("part", p.Label)
		q.Add("count", strconv.Itoa(int(max(p.Count, 1))))
		q.Add("length", inUnit(v, p.Length))
		q.Add("width", inUnit(v, p.Width))
		q.Add("thickness", inUnit(v, p.Thickness))
		q.Set("unit", lengthUnit(v))
	}
	return told(q)
}

// told keeps the fields that say something, and of those only what the form has.
func told(q url.Values) url.Values {
	out := url.Values{}
	for _, field := range fields {
		if slices.ContainsFunc(q[field], func(v string) bool { return strings.TrimSpace(v) != "" }) {
			out[field] = q[field]
		}
	}
	return out
}
