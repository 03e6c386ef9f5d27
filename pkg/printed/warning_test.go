package printed_test

import (
	"bytes"
	"strings"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
	"tackfree/pkg/printed/tagged"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

var labelWords = tagged.Words{Client: "for %s", Promised: "Promised %s", LeadFound: "LEAD in the old coating", LeadPresumed: "Not tested: presume LEAD", More: "and %d more",
	LeadRules: rules, Opened: "Opened on: ______________", OpenedBy: "By: ______________", ReadSheet: "Read the safety data sheet before use.", Hazards: "Hazards: %s."}

const rules = "No dry sanding, no scraping, no heat. Local codes come first."

var partNames = []string{"top", "case", "drawers", "mirror frame", "left door", "right door", "feet", "back"}

// untested is the tag of a piece of so many parts; in the first of them lead was found.
func untested(parts, found int, code string) printed.Label {
	p := &intakev1.Piece{Tag: 401, Title: "Oak apothecary chest", Origin: &intakev1.Piece_Commission{Commission: &intakev1.Commission{Client: "L. Brandt"}}}
	for _, name := range partNames[:parts] {
		p.Parts = append(p.Parts, &intakev1.Part{Label: name})
	}
	return tagged.Of(tagged.Piece{Piece: p, Kind: "chest", Promise: "Mar 20, 16:00", Found: partNames[:found], Presumed: partNames[found:parts], Code: code}, labelWords)
}

// tried is what a label says on a size, in one line; or why it is refused.
func tried(t *testing.T, p printed.Paper, size string, l printed.Label) (says string, all []line, err error) {
	t.Helper()
	w, h, err := printed.ReadSize(size)
	if err != nil {
		t.Fatal(err)
	}
	s := printed.Sheet{Info: info, Stock: stock(t, p, w, h), Labels: []printed.Label{l}}
	s.Hole = s.Stock.Cut
	var b bytes.Buffer
	if err = printed.Labels(&b, s); err != nil {
		if b.Len() > 0 {
			t.Errorf("%s is refused and written all the same", size)
		}
		return "", nil, err
	}
	for _, l := range pagesOf(t, b.Bytes())[0].lines {
		says, all = says+l.text+" ", append(all, l)
	}
	return says, all, nil
}

// whole fails unless a label begins with one of its warnings, whole and in letters of 6 points or more.
func whole(t *testing.T, size string, l printed.Label, says string, all []line) {
	t.Helper()
	for _, warning := range append([]string{l.Warning}, l.Shorter...) {
		if strings.HasPrefix(says, strings.ReplaceAll(warning, "\n", " ")+" ") && all[0].size >= 6 {
			return
		}
	}
	t.Errorf("%s says no whole warning of %q in %.1f points: %s", size, l.Warning, all[0].size, says)
}

// On every sheet that is sold, and on what is printed without a size, a warning is whole, or the label refused with a size that does.
func TestLabels_WarningWhole(t *testing.T) {
	for _, p := range []printed.Paper{printed.A4, printed.Letter} {
		for _, size := range append(printed.Sizes(p), "90x60", "60x30", "40x20", "150x15") {
			for _, l := range []printed.Label{untested(4, 0, ""), untested(4, 0, address), untested(8, 0, address), untested(8, 3, ""), untested(8, 3, address), untested(1, 0, address)} {
				says, all, err := tried(t, p, size, l)
				if err != nil {
					refused(t, err, "LABEL_TOO_SMALL")
					size = fault.Of(err).Meta["size"]
					if says, all, err = tried(t, p, size, l); err != nil || !strings.Contains(says, "Oak") {
						t.Fatalf("the size that is said, %s: %v, %s", size, err, says)
					}
				}
				whole(t, size, l, says, all)
			}
		}
	}
}

// The tightest sheets that have room say the rules, and shorten the list of parts first.
func TestLabels_WarningShortened(t *testing.T) {
	for _, c := range []struct {
		paper printed.Paper
		size  string
		label printed.Label
		says  string
	}{
		{printed.Letter, "66.675x25.4", untested(4, 0, address), rules + " Not tested: presume LEAD"},
		{printed.A4, "63.5x38.1", untested(8, 0, ""), rules + " Not tested: presume LEAD: top, case and 6 more. 401 Oak apothecary chest"},
		{printed.A4, "63.5x38.1", untested(8, 0, address), rules + " Not tested: presume LEAD. 401 Oak apothecary chest"},
		{printed.A4, "63.5x38.1", untested(4, 2, ""), rules + " LEAD in the old coating: top, case. Not tested: presume LEAD: drawers, mirror frame. 401 Oak apothecary chest"},
		{printed.A4, "90x60", untested(4, 0, address), rules + " Not tested: presume LEAD: top, case, drawers, mirror frame. 401 Oak apothecary chest chest · for L. Brandt top · case · drawers"},
		{printed.A4, "99.1x67.7", untested(8, 2, address), rules + " LEAD in the old coating: top, case. Not tested: presume LEAD: drawers, mirror frame, left door, right door, feet, back. 401"},
	} {
		if says, _, err := tried(t, c.paper, c.size, c.label); err != nil || !strings.HasPrefix(says, c.says) {
			t.Errorf("%s says %s, %v, want %s", c.size, says, err, c.says)
		}
	}
	_, _, err := tried(t, printed.Letter, "66.675x25.4", untested(4, 2, address))
	refused(t, err, "LABEL_TOO_SMALL")
	if want := "The label is too small for what must stand on it whole: 401. Take one of 101.6x50.8 mm."; err == nil || err.Error() != want {
		t.Errorf("it is refused with %v, want %s", err, want)
	}
}

func can(hazards string) printed.Label {
	return tagged.Can(&materialsv1.Product{DisplayName: "Gel stripper", Details: &typev1.ProductDetails{Maker: "Millrace", Hazards: hazards}}, "", labelWords)
}

// Hazards take more than 0.4 of a can's label where the rest keeps all it says; they are never cut.
func TestLabels_Hazards(t *testing.T) {
	l := can(strings.TrimSpace(strings.Repeat("H225 flammable, H336 drowsy, ", 14)) + " end")
	says, all, err := tried(t, printed.A4, "90x50", l)
	if err != nil {
		t.Fatal(err)
	}
	whole(t, "90x50", l, says, all)
	if !strings.Contains(says, "Gel stripper Millrace Opened on: ______________ By: ______________") {
		t.Errorf("the rest says %s", says)
	}
	_, _, err = tried(t, printed.A4, "63.5x38.1", l)
	refused(t, err, "LABEL_TOO_SMALL")
	for _, n := range []int{700, 30_000} { // more than a page, and more than is printed of a text
		_, _, err = tried(t, printed.A4, "190x277", can(strings.Repeat("H225 flammable, H336 drowsy, ", n)))
		if refused(t, err, "LABEL_TOO_SMALL"); err != nil && !strings.Contains(err.Error(), "Gel stripper. No size on this paper is enough: say what it warns of in fewer words.") {
			t.Errorf("%d hazards: %v", n, err)
		}
	}
}

// The end of a text of which no more is printed is not lost silently, however small its letters.
func TestLabels_WarningLongerThanText(t *testing.T) {
	l := printed.Label{Title: "x", Warning: strings.Repeat("\n", 30_000) + "LEAD"}
	_, _, err := tried(t, printed.A4, "90x60", l)
	refused(t, err, "LABEL_TOO_SMALL")
}

// A frame without a word in it warns of nothing.
func TestLabels_NoEmptyFrame(t *testing.T) {
	for _, warning := range []string{"", " \n ", "\u200d\n\n", "!"} {
		s := printed.Sheet{Info: info, Stock: stock(t, printed.A4, 99.1, 67.7), Labels: []printed.Label{{Title: "Wax", Warning: warning}}}
		if frames := len(pagesOf(t, labels(t, s))[0].dark); (frames > 0) != (warning == "!") {
			t.Errorf("%q has %d frames", warning, frames)
		}
	}
}

// All words of a warning come before fewer of them, where the rest needs less than it could have.
func TestLabels_WarningTakesMore(t *testing.T) {
	l := printed.Label{Title: "Wax", Warning: strings.TrimSpace(strings.Repeat("LEAD in the old coating. ", 18)), Shorter: []string{"LEAD."}}
	if says, _, err := tried(t, printed.A4, "99.1x38.1", l); err != nil || !strings.HasPrefix(says, l.Warning+" Wax") {
		t.Errorf("it says %s, %v", says, err)
	}
}
