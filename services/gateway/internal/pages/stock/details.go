package stock

import (
	"net/http"
	"net/url"
	"slices"

	"google.golang.org/protobuf/proto"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// detail is one field of a product's description.
type detail struct {
	name string
	kind string // text, number, whole or date
	most int    // characters of a text
	get  func(*typev1.ProductDetails) string
	set  func(*typev1.ProductDetails, *typed.Form)
}

func text(name string, most int, at func(*typev1.ProductDetails) *string) detail {
	return detail{name, "text", most, func(d *typev1.ProductDetails) string { return *at(d) },
		func(d *typev1.ProductDetails, f *typed.Form) { *at(d) = f.Text(name) }}
}

// known is a number of which zero says something too.
func known(name string, at func(*typev1.ProductDetails) **float64) detail {
	return detail{name, "number", 20, func(d *typev1.ProductDetails) string { return typed.Number(*at(d)) },
		func(d *typev1.ProductDetails, f *typed.Form) { *at(d) = f.Number(name) }}
}

// number is one that is never zero.
func number(name string, at func(*typev1.ProductDetails) *float64) detail {
	return detail{name, "number", 20,
		func(d *typev1.ProductDetails) string {
			if *at(d) == 0 {
				return ""
			}
			return typed.Number(at(d))
		},
		func(d *typev1.ProductDetails, f *typed.Form) {
			*at(d) = 0
			if v := f.Number(name); v != nil {
				*at(d) = *v
			}
		}}
}

func whole(name string, at func(*typev1.ProductDetails) *int32) detail {
	return detail{name, "whole", 9, func(d *typev1.ProductDetails) string { return typed.Whole(*at(d)) },
		func(d *typev1.ProductDetails, f *typed.Form) { *at(d) = f.Whole(name) }}
}

// details are in the order of the form.
var details = []detail{
	text("category", 40, func(d *typev1.ProductDetails) *string { return &d.Category }),
	text("maker", 120, func(d *typev1.ProductDetails) *string { return &d.Maker }),
	text("article", 80, func(d *typev1.ProductDetails) *string { return &d.Article }),
	text("colour", 80, func(d *typev1.ProductDetails) *string { return &d.Colour }),
	text("sheen", 40, func(d *typev1.ProductDetails) *string { return &d.Sheen }),
	number("density", func(d *typev1.ProductDetails) *float64 { return &d.DensityGramsPerMl }),
	number("spread", func(d *typev1.ProductDetails) *float64 { return &d.SquareMetresPerLitre }),
	whole("keeps_closed", func(d *typev1.ProductDetails) *int32 { return &d.KeepsClosedDays }),
	whole("keeps_open", func(d *typev1.ProductDetails) *int32 { return &d.KeepsOpenDays }),
	whole("pot_life", func(d *typev1.ProductDetails) *int32 { return &d.PotLifeMinutes }),
	known("flash_point", func(d *typev1.ProductDetails) **float64 { return &d.FlashPointCelsius }),
	known("boiling_point", func(d *typev1.ProductDetails) **float64 { return &d.BoilingPointCelsius }),
	known("voc", func(d *typev1.ProductDetails) **float64 { return &d.VocGramsPerLitre }),
	text("hazards", 1000, func(d *typev1.ProductDetails) *string { return &d.Hazards }),
	text("ingredients", 1000, func(d *typev1.ProductDetails) *string { return &d.Ingredients }),
	text("safety_sheet", 500, func(d *typev1.ProductDetails) *string { return &d.SafetySheet }),
	{"safety_sheet_date", "date", 10, func(d *typev1.ProductDetails) string { return typed.Day(d.SafetySheetDate) },
		func(d *typev1.ProductDetails, f *typed.Form) { d.SafetySheetDate = f.Day("safety_sheet_date") }},
	text("note", 1000, func(d *typev1.ProductDetails) *string { return &d.Note }),
}

// cautions are those that whoever uses a product should have read.
var cautions = []string{"lead", "lead-residue", "stripper", "dust", "fire", "oily-rags", "vapour", "two-part"}

// fields are the form's, for comparing what two people made of it.
var fields = func() (out []edits.Field) {
	for _, d := range details {
		out = append(out, edits.Field{Name: d.name})
	}
	return append(out, edits.Field{Name: "cautions", Many: true})
}()

// valuesOf writes a description as the form has it.
func valuesOf(d *typev1.ProductDetails) url.Values {
	if d == nil {
		d = &typev1.ProductDetails{}
	}
	values := url.Values{"cautions": d.Cautions}
	for _, one := range details {
		values.Set(one.name, one.get(d))
	}
	return values
}

// readDetails reads a description from a form, over what is known and the form has no field for.
func readDetails(f *typed.Form, over *typev1.ProductDetails) *typev1.ProductDetails {
	d := &typev1.ProductDetails{}
	if over != nil {
		d = proto.CloneOf(over)
	}
	for _, one := range details {
		one.set(d, f)
	}
	d.Cautions = f.Values["cautions"]
	return d
}

// describe says what a product is, unless somebody else said otherwise meanwhile.
func describe(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	mine := valuesOf(readDetails(f, nil))
	was, err := url.ParseQuery(a.Typed("was"))
	if err == nil {
		err = f.Err()
	}
	if err != nil {
		return showProductWith(w, a, refusedForm{name: "describe", typed: a.PostForm, was: was}, err)
	}
	return unlessChanged(w, a, asChange{form: "describe", said: "product.described", fields: fields, was: was, mine: mine,
		now: func(p *materialsv1.Product) url.Values { return valuesOf(p.Details) },
		send: func(p *materialsv1.Product) error {
			_, err := a.Kit.Suite.Catalogue.DescribeProduct(a.Context(), &materialsv1.DescribeProductRequest{RequestId: a.RequestID(), Product: p.Name,
				Details: readDetails(f, p.Details), Etag: p.Etag})
			return err
		}})
}

// shownDetail is a field as the form shows it.
type shownDetail struct {
	Name, Kind, Value string
	Most              int
	Long              bool
}

func shownDetails(values url.Values) (out []shownDetail) {
	for _, d := range details {
		out = append(out, shownDetail{d.name, d.kind, values.Get(d.name), d.most, d.most >= 500})
	}
	return out
}

type shownCaution struct {
	Word    string
	Checked bool
}

func shownCautions(values url.Values) (out []shownCaution) {
	for _, word := range cautions {
		out = append(out, shownCaution{word, slices.Contains(values["cautions"], word)})
	}
	return out
}
