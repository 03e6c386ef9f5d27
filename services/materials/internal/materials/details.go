package materials

import (
	"fmt"
	"reflect"
	"slices"
	"time"
	"unicode/utf8"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// Details are what a product is, beside what its data sheet says of its coats: as the maker
// says, not as anybody judged it. A zero is what nobody said.
type Details struct {
	Category string // paint, solvent, abrasive …, in lower case

	Density        float64  // g/mL, 0.3 to 5
	FlashCelsius   *float64 // nil: it has none, or nobody said
	BoilingCelsius *float64
	VOC            *float64 // g/L as sold, 0 to 2,000, before that of its data sheet; nil: nobody said

	ClosedDays int32         // it keeps from when it came in
	OpenDays   int32         // it keeps from when it was opened
	PotLife    time.Duration // it can be used once it is mixed, whole minutes

	Colour, Sheen   string
	Maker, Article  string  // the maker's number
	M2PerLitre      float64 // how far a litre goes, 0.1 to 100
	Hazards         string  // statements and words of the pictograms, as on the label
	Ingredients     string
	SafetySheet     string    // where it is
	SafetySheetDate time.Time // of what day it is; zero: nobody said
	Cautions        []string  // ids of finish.Hazard that whoever uses it should have read
	Note            string
}

// Described says that its name, its packages or its details are others now.
type Described struct{}

func (Described) fact() {}

// Describe sets all details at once. Faults, at fields of details: those of Details.Check.
func (p *Product) Describe(d Details) ([]Fact, error) {
	if err := d.Check(); err != nil {
		return nil, inField("details", err)
	}
	p.Details = d
	return p.Tell(Described{}), nil
}

// Rename calls the product otherwise.
func (p *Product) Rename(name string) []Fact {
	p.Name = name
	return p.Tell(Described{})
}

// inField points a fault at a field of the one that is named.
func inField(field string, err error) error {
	f := fault.Of(err)
	if f == nil || len(f.Fields) == 0 {
		return err
	}
	return f.At(field + "." + f.Fields[0].Path)
}

// Empty reports that nobody said anything.
func (d Details) Empty() bool {
	if len(d.Cautions) == 0 {
		d.Cautions = nil
	}
	return reflect.ValueOf(d).IsZero()
}

// Check refuses what no product is. Ranges are common practice, wide enough for propellants of
// spray cans (flash points down to -104 °C, from memory) and zinc primers (3.2 g/mL, from
// memory). Faults at the names that the fields have in the contract: OUT_OF_RANGE,
// TEXT_TOO_LONG, CAUTION_UNKNOWN, CAUTION_TWICE.
func (d Details) Check() error {
	for _, c := range []struct {
		field     string
		v         float64
		low, high float64
		unit      string
		told      bool
	}{
		{"density_grams_per_ml", d.Density, 0.3, 5, "g/mL", d.Density != 0},
		{"flash_point_celsius", valueOf(d.FlashCelsius), -110, 400, "°C", d.FlashCelsius != nil},
		{"boiling_point_celsius", valueOf(d.BoilingCelsius), -50, 500, "°C", d.BoilingCelsius != nil},
		{"voc_grams_per_litre", valueOf(d.VOC), 0, 2_000, "g/L", d.VOC != nil},
		{"keeps_closed_days", float64(d.ClosedDays), 0, 36500, "days", true},
		{"keeps_open_days", float64(d.OpenDays), 0, 36500, "days", true},
		{"pot_life_minutes", d.PotLife.Minutes(), 0, 30 * 24 * 60, "minutes", true},
		{"square_metres_per_litre", d.M2PerLitre, 0.1, 100, "m²/L", d.M2PerLitre != 0},
		{"safety_sheet_date", float64(d.SafetySheetDate.Year()), 1970, 2100, "", !d.SafetySheetDate.IsZero()},
	} {
		if err := dimension.Within(c.field, c.v, c.low, c.high, c.unit); c.told && err != nil {
			return err
		}
	}
	if err := d.shortEnough(); err != nil {
		return err
	}
	return knownCautions(d.Cautions)
}

func valueOf(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

// shortEnough refuses texts that are longer, in characters, than the contract allows.
func (d Details) shortEnough() error {
	for _, c := range []struct {
		field, text string
		most        int
	}{
		{"category", d.Category, 40}, {"colour", d.Colour, 80}, {"sheen", d.Sheen, 40}, {"maker", d.Maker, 120}, {"article", d.Article, 80},
		{"hazards", d.Hazards, 1000}, {"ingredients", d.Ingredients, 1000}, {"safety_sheet", d.SafetySheet, 500}, {"note", d.Note, 1000},
	} {
		if err := shortText(c.field, c.text, c.most); err != nil {
			return err
		}
	}
	return nil
}

// shortText refuses a text of more characters. Fault at the field: TEXT_TOO_LONG.
func shortText(field, text string, most int) error {
	if n := utf8.RuneCountInString(text); n > most {
		return fault.New(fault.Invalid, "TEXT_TOO_LONG", "%s has %d characters; %d is the most, so shorten it.", fault.The(field), n, most).At(field)
	}
	return nil
}

func knownCautions(ids []string) error {
	for i, c := range ids {
		field := fmt.Sprintf("cautions[%d]", i)
		if _, known := finish.FindHazard(c); !known {
			return fault.New(fault.Invalid, "CAUTION_UNKNOWN",
				"There is no caution %q; use lead, lead-residue, stripper, dust, fire, oily-rags, vapour or two-part.", clipped(c)).At(field)
		}
		if slices.Contains(ids[:i], c) {
			return fault.New(fault.Invalid, "CAUTION_TWICE", "The caution %s is there twice; say it once.", c).At(field)
		}
	}
	return nil
}

// ExpiresClosed is when a lot that came in at an instant gets too old, unopened; zero: nobody
// knows how long it keeps.
func (p Product) ExpiresClosed(at time.Time) time.Time { return daysAfter(at, p.ClosedDays) }

// ExpiresOpened is when a part that was opened at an instant gets too old: never later than it
// would have closed, which is zero where nobody knows that. Zero: nobody knows either.
func (p Product) ExpiresOpened(at, closed time.Time) time.Time {
	opened := daysAfter(at, p.OpenDays)
	if opened.IsZero() || !closed.IsZero() && closed.Before(opened) {
		return closed
	}
	return opened
}

func daysAfter(at time.Time, days int32) time.Time {
	if at.IsZero() || days == 0 {
		return time.Time{}
	}
	return at.Add(time.Duration(days) * 24 * time.Hour)
}
