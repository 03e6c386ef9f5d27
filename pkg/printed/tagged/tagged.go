// Package tagged says what stands on the labels of a shop: the tag of a piece, the bags with its hardware, a
// can. Plumbing.
//
//	piece, its tests ─▶ Of ──────┐
//	piece, ReadBags ──▶ Bags ────┼─▶ printed.Label ─▶ printed.Labels
//	product ──────────▶ Can ─────┘
//
// Words are the reader's, by whoever prints: pages have a catalogue of them, the command line its own.
package tagged

import (
	"cmp"
	"fmt"
	"strings"

	"tackfree/pkg/printed"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Words are what stands on labels beside what people typed, each in one language and with the verbs of package
// fmt that are named.
type Words struct {
	Client       string // %s
	Promised     string // %s, a day and a time
	LeadFound    string // followed by the parts
	LeadPresumed string // followed by the parts
	LeadRules    string
	More         string // %d, how many parts are not named; empty: +%d, which needs no word
	Bag          string // %d of %d
	TakenOff     string // %s, a day
	Opened       string // with a line to fill in
	OpenedBy     string // the same
	ReadSheet    string
	Hazards      string // %s
}

// Leaded are the parts whose old coating nobody found to be free of lead, and those in which it was found or that
// are worked on under controls. The last test of a part, or of the whole piece, counts; tests are the newest
// first. Without one lead is presumed.
func Leaded(parts []*intakev1.Part, tests []*workflowv1.PartTest) (presumed, found []string) {
	for _, p := range parts {
		switch LeadOf(tests, p.Name) {
		case workflowv1.Lead_RESULT_FREE:
		case workflowv1.Lead_RESULT_FOUND, workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS:
			found = append(found, p.Label)
		default:
			presumed = append(presumed, p.Label)
		}
	}
	return presumed, found
}

// LeadOf is what the last lead test of a part, or of the whole piece, says, of tests that are the newest first; unspecified:
// there was none, and lead is presumed.
func LeadOf(tests []*workflowv1.PartTest, part string) workflowv1.Lead_Result {
	for _, t := range tests {
		if r := t.GetLead().GetResult(); r != workflowv1.Lead_RESULT_UNSPECIFIED && (t.Part == part || t.Part == "") {
			return r
		}
	}
	return workflowv1.Lead_RESULT_UNSPECIFIED
}

// Piece is what is known of one that is tagged.
type Piece struct {
	*intakev1.Piece
	Kind            string   // in the reader's words
	Promise         string   // empty: to nobody
	Presumed, Found []string // see Leaded
	Code            string   // the address of its page; empty: the label has no code
}

// Of is a piece's tag.
func Of(p Piece, w Words) printed.Label {
	l := printed.Label{Number: fmt.Sprint(p.Tag), Title: p.Title, Code: p.Code}
	kind := p.Kind
	if c := p.GetCommission(); c != nil {
		kind += " · " + fmt.Sprintf(w.Client, c.Client)
	}
	l.Lines = []string{kind, partsOf(p.Parts)}
	if p.Promise != "" {
		l.Lines = append(l.Lines, fmt.Sprintf(w.Promised, p.Promise))
	}
	if all := warnings(p, w); len(all) > 0 {
		l.Warning, l.Shorter = all[0], all[1:]
	}
	return l
}

// mostNamed is how many parts a shortened list names.
const mostNamed = 6

// warnings are what is known of lead: with all parts, and shorter by one part after the other, down to none, which
// warns of the whole piece.
func warnings(p Piece, w Words) (all []string) {
	parts := max(len(p.Found), len(p.Presumed))
	if parts == 0 {
		return nil
	}
	all = []string{warning(p, w, parts)}
	for n := min(parts-1, mostNamed); n >= 0; n-- {
		all = append(all, warning(p, w, n))
	}
	return all
}

// warning names n parts of each list at most. The rules come first; what was found comes before what is presumed.
func warning(p Piece, w Words, n int) string {
	all := []string{w.LeadRules}
	for _, of := range []struct {
		says  string
		parts []string
	}{{w.LeadFound, p.Found}, {w.LeadPresumed, p.Presumed}} {
		if len(of.parts) > 0 {
			all = append(all, joined(": ", of.says, w.some(of.parts, n))+".")
		}
	}
	return strings.Join(all, "\n")
}

// some are n of several parts and how many more there are, top, case and 6 more; none where n is 0.
func (w Words) some(parts []string, n int) string {
	if left := len(parts) - n; n > 0 && left > 0 {
		return strings.Join(parts[:n], ", ") + " " + fmt.Sprintf(cmp.Or(w.More, "+%d"), left)
	}
	return strings.Join(parts[:min(n, len(parts))], ", ")
}

func partsOf(parts []*intakev1.Part) string {
	all := make([]string, len(parts))
	for i, p := range parts {
		all[i] = counted(p)
	}
	return strings.Join(all, " · ")
}

// counted is a part with how many of it there are.
func counted(p *intakev1.Part) string {
	if p.Count > 1 {
		return fmt.Sprintf("%d × %s", p.Count, p.Label)
	}
	return p.Label
}

// Can is what sticks on one.
func Can(p *materialsv1.Product, code string, w Words) printed.Label {
	l := printed.Label{Title: p.DisplayName, Code: code, Warning: w.ReadSheet}
	if d := p.Details; d != nil {
		l.Lines = append(l.Lines, joined(" ", d.Maker, d.Article), joined(" · ", d.Colour, d.Sheen))
		if d.Hazards != "" {
			l.Warning = fmt.Sprintf(w.Hazards, d.Hazards) + " " + w.ReadSheet
		}
	}
	l.Lines = append(l.Lines, w.Opened, w.OpenedBy)
	return l
}

// joined are those of some texts that say something.
func joined(by string, texts ...string) string {
	var all []string
	for _, t := range texts {
		if t != "" {
			all = append(all, t)
		}
	}
	return strings.Join(all, by)
}
