package piece

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"tackfree/pkg/finish"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// bareWord is what an assessment says of a part on which nothing lies.
const bareWord = "bare"

// seenForm is the form for one part, with what was said of it last, or typed if that was refused.
type seenForm struct {
	Part       string
	Label      string
	Etag       string
	Open       bool
	Values     url.Values
	Materials  []option
	Species    []option
	Finishes   []option
	Conditions []option
	Rows       []defectRow
}

type option struct {
	Value, Text string
	On          bool
}

// defectRow is a defect in the form; those that are left without a kind are none.
type defectRow struct {
	Index       int
	Kinds       []option
	Severities  []option
	Where, Note string
	Photos      []option
	chosen      []string
}

// V is what a field has.
func (f seenForm) V(field string) string { return f.Values.Get(field) }

// Number is which it is, from 1.
func (r defectRow) Number() int { return r.Index + 1 }

// blankDefects is how many rows there are beside those that are filled in, and mostDefects how many altogether.
const (
	blankDefects = 2
	mostDefects  = 50
)

var (
	materialWords = []string{"solid wood", "veneer", "MDF", "laminate", "metal"}
	// conditionWords and severityWords are in the order of the contract's numbers, from 1.
	conditionWords = []string{"sound", "worn", "damaged"}
	severityWords  = []string{"slight", "to_mend", "spoils_part"}
)

// formOfSeen is the form with what was said of a part last; its Values have what was typed, if that was refused.
func formOfSeen(v *words.Voice, m *intakev1.PartAssessment) seenForm {
	out := seenForm{Part: m.Part, Label: m.PartLabel, Etag: m.Etag, Values: valuesOfSeen(m.Seen)}
	if f := m.VeneerFloor; f != nil && !f.Presumed {
		out.Values.Set("veneer", f.Thickness.GetValue())
	}
	out.lay(v)
	return out
}

func valuesOfSeen(s *intakev1.PartSeen) url.Values {
	q := url.Values{}
	if s == nil {
		return q
	}
	q.Set("material", s.Material)
	q.Set("species", s.Species)
	q.Set("old", s.OldFinish)
	q.Set("painted", yearText(s))
	q.Set("note", s.Note)
	if s.Condition != typev1.PieceCondition_PIECE_CONDITION_UNSPECIFIED {
		q.Set("condition", conditionWord(s.Condition))
	}
	for field, on := range map[string]bool{"waxed": s.Waxed, "stained": s.OldStain} {
		if on {
			q.Set(field, "yes")
		}
	}
	for i, d := range s.Defects {
		q["kind"], q["severity"] = append(q["kind"], d.Kind), append(q["severity"], severityWord(d.Severity))
		q["where"], q["defect_note"] = append(q["where"], d.Where), append(q["defect_note"], d.Note)
		q[photosField(i)] = d.Photos
	}
	return q
}

func photosField(row int) string { return "photos" + strconv.Itoa(row) }

// lay makes the choices by what the fields have.
func (f *seenForm) lay(v *words.Voice) {
	q := f.Values
	f.Materials = options(materialWords, q.Get("material"), func(w string) string { return v.Word("buying.material", slug(w)) })
	f.Species = options(finish.SpeciesNames(), q.Get("species"), func(w string) string { return v.Word("species", w) })
	finishes := []string{string(finish.UnknownFinish), bareWord}
	for _, family := range finish.Families() {
		finishes = append(finishes, string(family))
	}
	f.Finishes = options(finishes, q.Get("old"), func(w string) string { return finishWord(v, w) })
	f.Conditions = options(conditionWords, q.Get("condition"), func(w string) string { return v.Word("takein.condition", w) })
	f.Rows = nil
	for i := range min(len(q["kind"])+blankDefects, mostDefects) {
		f.Rows = append(f.Rows, rowOf(v, q, i))
	}
}

func rowOf(v *words.Voice, q url.Values, i int) defectRow {
	var kinds []string
	for _, d := range finish.Defects() {
		kinds = append(kinds, string(d))
	}
	row := defectRow{Index: i, Where: at(q, "where", i), Note: at(q, "defect_note", i), chosen: q[photosField(i)]}
	row.Kinds = options(kinds, at(q, "kind", i), func(w string) string { return v.Word("assess.defect", slug(w)) })
	severity := at(q, "severity", i)
	if severity == "" {
		severity = severityWords[1]
	}
	row.Severities = options(severityWords, severity, func(w string) string { return v.Word("assess.severity", w) })
	return row
}

func at(q url.Values, field string, i int) string {
	if i < len(q[field]) {
		return strings.TrimSpace(q[field][i])
	}
	return ""
}

func options(all []string, is string, text func(string) string) (out []option) {
	for _, w := range all {
		out = append(out, option{w, text(w), w == is})
	}
	return out
}

// photos are the choice of each row.
func (f *seenForm) photos(all []*intakev1.Photo) {
	for i := range f.Rows {
		for _, ph := range all {
			text := strconv.Itoa(int(ph.Number))
			for _, more := range []string{ph.PartLabel, ph.Note} {
				if more != "" {
					text += ", " + more
				}
			}
			f.Rows[i].Photos = append(f.Rows[i].Photos, option{ph.Name, text, slices.Contains(f.Rows[i].chosen, ph.Name)})
		}
	}
}

// again puts what was typed into the form of its part.
func (b *assessBand) again(v *words.Voice, in typedIn) {
	if in.Form != "assess" {
		return
	}
	for i := range b.Parts {
		if f := &b.Parts[i].Form; f.Part == in.Values.Get("part") {
			f.Values, f.Etag, f.Open = in.Values, in.Values.Get("etag"), true
			f.lay(v)
		}
	}
}

// assess says what somebody saw of a part.
func assess(a *web.Asked, _ *intakev1.Piece, f *typed.Form) (string, error) {
	r := &intakev1.AssessPartRequest{RequestId: a.RequestID(), Part: f.Text("part"), Etag: f.Text("etag"), Seen: &intakev1.PartSeen{
		Material: f.Text("material"), Species: f.Text("species"), Veneer: f.Quantity("veneer", "unit"), OldFinish: f.Text("old"), Waxed: f.Text("waxed") != "",
		OldStain: f.Text("stained") != "", Condition: typev1.PieceCondition(1 + slices.Index(conditionWords, f.Text("condition"))), Note: f.Text("note")}}
	readYear(f, r.Seen)
	for i := range f.Values["kind"] {
		if at(f.Values, "kind", i) == "" {
			continue
		}
		r.Seen.Defects = append(r.Seen.Defects, &intakev1.PartDefect{Kind: at(f.Values, "kind", i), Severity: intakev1.PartDefect_Severity(1 + slices.Index(severityWords, at(f.Values, "severity", i))),
			Where: at(f.Values, "where", i), Note: at(f.Values, "defect_note", i), Photos: f.Values[photosField(i)]})
	}
	if err := f.Err(); err != nil {
		return "", err
	}
	_, err := a.Kit.Suite.Assessments.AssessPart(a.Context(), r)
	return "assess.done", err
}

// readYear reads 1955, or a decade as 1950s; empty is not known.
func readYear(f *typed.Form, s *intakev1.PartSeen) {
	text := f.Text("painted")
	if text == "" {
		return
	}
	number, decade := strings.CutSuffix(text, "s")
	n, err := strconv.ParseInt(number, 10, 32)
	if err != nil || n < 1 || n > 9999 {
		f.Refuse("NUMBER_UNREADABLE", "assess.year.unreadable", text)
		return
	}
	s.PaintedIn, s.PaintedInDecade = int32(n), decade
}
