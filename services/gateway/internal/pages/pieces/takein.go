package pieces

import (
	"cmp"
	"net/http"
	"net/url"
	"strconv"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// labels are what parts are commonly called; any other word does as well.
var labels = []string{"top", "case", "drawers", "doors", "legs", "back", "seat", "frame", "shelves"}

var conditions = map[string]typev1.PieceCondition{"sound": typev1.PieceCondition_PIECE_CONDITION_SOUND, "worn": typev1.PieceCondition_PIECE_CONDITION_WORN,
	"damaged": typev1.PieceCondition_PIECE_CONDITION_DAMAGED}

// arrival is the form by which a piece is taken in, with what was typed into it.
type arrival struct {
	Typed             url.Values
	Kinds             []string
	Labels            []string
	Sizes, Conditions []string
	Units             []string
	Rows              []partRow
}

// partRow is a part as it was typed.
type partRow struct{ Label, Count, Length, Width, Thickness string }

// mostRows is how many parts the form has room for, and firstRows how many of them it shows unasked.
const (
	mostRows  = 8
	firstRows = 3
)

// First are the rows that are shown, Rest those that are folded away, but for a form that uses some of them.
func (f arrival) First() []partRow { return f.Rows[:firstRows] }

// Rest are the others.
func (f arrival) Rest() []partRow { return f.Rows[firstRows:] }

// Many reports whether one of the rest says something.
func (f arrival) Many() bool { return f.Rows[firstRows] != partRow{} }

// Val is what was typed into a field.
func (f arrival) Val(field string) string { return f.Typed.Get(field) }

// Client reports whether it is a client's own.
func (f arrival) Client() bool { return f.Typed.Get("origin") == "client" }

func arrivalOf(values url.Values, v *words.Voice) arrival {
	f := arrival{Typed: values, Kinds: typed.Kinds, Labels: labels, Sizes: typed.SizeWords, Conditions: []string{"sound", "worn", "damaged"}, Units: []string{"cm", "mm", "m", "in", "ft"}}
	if v.Units == words.Imperial {
		f.Units = []string{"in", "ft", "cm", "mm", "m"}
	}
	f.Rows = rowsOf(values)
	if len(f.Rows) == 0 {
		f.Rows = append(f.Rows, partRow{Label: v.T("takein.part.whole")})
	}
	f.Rows = append(f.Rows, make([]partRow, max(mostRows-len(f.Rows), 1))...)
	return f
}

// rowsOf are the rows of parts into which something was typed.
func rowsOf(values url.Values) (rows []partRow) {
	at := func(field string, i int) string {
		if all := values[field]; i < len(all) {
			return all[i]
		}
		return ""
	}
	for i := range values["label"] {
		row := partRow{at("label", i), at("count", i), at("length", i), at("width", i), at("thickness", i)}
		if row != (partRow{}) {
			rows = append(rows, row)
		}
	}
	return rows
}

func showTakeIn(w http.ResponseWriter, a *web.Asked) error {
	values, err := whoseOf(a)
	if err != nil {
		return err
	}
	return a.Show(w, "takein", a.Voice.T("takein.title"), arrivalOf(values, a.Voice))
}

// takeIn takes a piece in, and goes on at its own page.
func takeIn(w http.ResponseWriter, a *web.Asked) error {
	request, err := requestOf(a)
	var taken *intakev1.TakeInPieceResponse
	if err == nil {
		taken, err = a.Kit.Suite.Intake.TakeInPiece(a.Context(), request)
	}
	if fault.Of(err) != nil {
		return a.ShowRefused(w, "takein", a.Voice.T("takein.title"), arrivalOf(a.PostForm, a.Voice), err)
	}
	if err != nil {
		return err
	}
	if ordered := a.Typed("commission"); ordered != "" {
		return brought(w, a, ordered, taken.Piece)
	}
	return a.After(w, "/pieces/"+strconv.Itoa(int(taken.Piece.Tag)), "takein.done")
}

func requestOf(a *web.Asked) (*intakev1.TakeInPieceRequest, error) {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	r := &intakev1.TakeInPieceRequest{RequestId: a.RequestID(), Title: f.Text("title"), Kind: kindOf(f), Parts: partsOf(f), Tag: f.Whole("tag"),
		TakenInTime: f.Instant("at"), Size: typed.Sizes[f.Text("size")], Condition: conditions[f.Text("condition")]}
	if r.Kind == "" {
		return nil, fault.New(fault.Invalid, "KIND_MISSING", "%s", a.Voice.T("buying.missing.kind")).At("kind")
	}
	if f.Text("origin") == "client" {
		r.Origin = &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: f.Text("client"), ClientRecord: recordOf(f.Text("record"))}}
		return r, f.Err()
	}
	bought := &intakev1.Purchase{Price: f.Money("price"), Source: f.Text("source"), Date: f.Day("date")}
	r.Origin = &intakev1.TakeInPieceRequest_Purchase{Purchase: bought}
	if err := f.Err(); err != nil {
		return nil, err
	}
	if bought.Price == nil {
		return nil, fault.New(fault.Invalid, "PAID_MISSING", "%s", a.Voice.T("takein.price.missing")).At("price")
	}
	return r, nil
}

// otherKind is chosen for what is in no list; then the word for it is typed.
const otherKind = "other"

// kindOf is what it is: a typed word says more than what was chosen.
func kindOf(f *typed.Form) string {
	kind := f.Text("kind")
	if kind == otherKind {
		kind = ""
	}
	return cmp.Or(f.Text("other"), kind)
}

// partsOf reads the parts, all lengths in the one unit that was chosen.
func partsOf(f *typed.Form) (parts []*intakev1.Part) {
	for _, row := range rowsOf(f.Values) {
		one := &typed.Form{Values: url.Values{"label": {row.Label}, "count": {row.Count}, "length": {row.Length}, "width": {row.Width}, "thickness": {row.Thickness}, "unit": {f.Text("unit")}}, Voice: f.Voice}
		parts = append(parts, &intakev1.Part{Label: one.Text("label"), Count: one.Whole("count"), Length: one.Quantity("length", "unit"),
			Width: one.Quantity("width", "unit"), Thickness: one.Quantity("thickness", "unit")})
		f.Take(one)
	}
	return parts
}
