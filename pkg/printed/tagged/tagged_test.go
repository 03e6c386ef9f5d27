package tagged_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
	"tackfree/pkg/printed/tagged"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

var words = tagged.Words{Client: "for %s", Promised: "promised %s", LeadFound: "LEAD", LeadPresumed: "presume LEAD", LeadRules: "No dry sanding.", More: "and %d more", Bag: "bag %d of %d", TakenOff: "off %s",
	Opened: "opened: ____", OpenedBy: "by: ____", ReadSheet: "Read the sheet.", Hazards: "Careful: %s."}

var parts = []*intakev1.Part{{Name: "p/top", Label: "top", Count: 1}, {Name: "p/drawers", Label: "drawers", Count: 4}, {Name: "p/legs", Label: "legs"}}

var chest = &intakev1.Piece{Tag: 401, Title: "Oak chest", Parts: parts, Origin: &intakev1.Piece_Commission{Commission: &intakev1.Commission{Client: "L. Brandt"}}}

func lead(part string, r workflowv1.Lead_Result) *workflowv1.PartTest {
	return &workflowv1.PartTest{Part: part, Result: &workflowv1.PartTest_Lead{Lead: &workflowv1.Lead{Result: r}}}
}

const (
	free     = workflowv1.Lead_RESULT_FREE
	found    = workflowv1.Lead_RESULT_FOUND
	accepted = workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS
)

// Nobody tested: presumed. The newest test counts, of the part or of the whole, and another test says nothing of lead.
func TestLeaded(t *testing.T) {
	moist := &workflowv1.PartTest{Part: "p/top"}
	for name, c := range map[string]struct {
		tests           []*workflowv1.PartTest
		presumed, found string
	}{
		"untested":      {nil, "top drawers legs", ""},
		"whole free":    {[]*workflowv1.PartTest{lead("", free)}, "", ""},
		"one found":     {[]*workflowv1.PartTest{lead("p/top", found)}, "drawers legs", "top"},
		"accepted":      {[]*workflowv1.PartTest{lead("p/top", accepted), lead("", free)}, "", "top"},
		"newer is free": {[]*workflowv1.PartTest{moist, lead("p/top", free), lead("", found)}, "", "drawers legs"},
		"newer, whole":  {[]*workflowv1.PartTest{lead("", found), lead("p/top", free)}, "", "top drawers legs"},
	} {
		presumed, found := tagged.Leaded(parts, c.tests)
		if strings.Join(presumed, " ") != c.presumed || strings.Join(found, " ") != c.found {
			t.Errorf("%s: Leaded = %v, %v, want %q, %q", name, presumed, found, c.presumed, c.found)
		}
	}
}

func TestOf(t *testing.T) {
	got := tagged.Of(tagged.Piece{Piece: chest, Kind: "chest", Promise: "Friday", Presumed: []string{"top", "legs"}, Found: []string{"drawers"}, Code: "http://x/pieces/401"}, words)
	want := printed.Label{Number: "401", Title: "Oak chest", Lines: []string{"chest · for L. Brandt", "top · 4 × drawers · legs", "promised Friday"},
		Warning: "No dry sanding.\nLEAD: drawers.\npresume LEAD: top, legs.",
		Shorter: []string{"No dry sanding.\nLEAD: drawers.\npresume LEAD: top and 1 more.", "No dry sanding.\nLEAD.\npresume LEAD."}, Code: "http://x/pieces/401"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("Of (-want +got):\n%s", diff)
	}
	if l := tagged.Of(tagged.Piece{Piece: chest, Kind: "chest"}, words); l.Warning != "" || len(l.Lines) != 2 {
		t.Errorf("a tag without promise and lead says %v, warns %q", l.Lines, l.Warning)
	}
}

// The list of parts is shortened, never the rules or that there is lead; what names no part warns of the whole piece.
func TestOf_Shorter(t *testing.T) {
	names := strings.Split("abcdefghij", "")
	l := tagged.Of(tagged.Piece{Piece: chest, Presumed: names}, words)
	if len(l.Shorter) != 7 || l.Shorter[0] != "No dry sanding.\npresume LEAD: a, b, c, d, e, f and 4 more." || l.Shorter[5] != "No dry sanding.\npresume LEAD: a and 9 more." || l.Shorter[6] != "No dry sanding.\npresume LEAD." {
		t.Errorf("it is shortened to %q", l.Shorter)
	}
	plain := words
	plain.More = ""
	if l = tagged.Of(tagged.Piece{Piece: chest, Found: names}, plain); l.Shorter[4] != "No dry sanding.\nLEAD: a, b +8." {
		t.Errorf("without a word for it: %q", l.Shorter[4])
	}
}

func TestBags(t *testing.T) {
	bags, err := tagged.ReadBags(parts, []string{" drawers : 8 pulls: brass", "", "Legs", "two keys", "back: 1 bolt"})
	if err != nil {
		t.Fatal(err)
	}
	want := []tagged.Bag{{Part: "4 × drawers", Contents: "8 pulls: brass"}, {Part: "legs"}, {Contents: "two keys"}, {Contents: "back: 1 bolt"}}
	if diff := cmp.Diff(want, bags); diff != "" {
		t.Errorf("ReadBags (-want +got):\n%s", diff)
	}
	labels := tagged.Bags(chest, bags, "3 Mar", "code", words)
	second := printed.Label{Number: "401", Title: "bag 2 of 4 · legs", Lines: []string{"______________________", "Oak chest", "off 3 Mar"}, Code: "code"}
	if len(labels) != 4 || labels[2].Title != "bag 3 of 4" || labels[0].Lines[0] != "8 pulls: brass" {
		t.Errorf("Bags = %v", labels)
	}
	if diff := cmp.Diff(second, labels[1]); diff != "" {
		t.Errorf("the second bag (-want +got):\n%s", diff)
	}
}

func TestReadBags_EachPart(t *testing.T) {
	bags, err := tagged.ReadBags(parts, []string{"  "})
	if want := []tagged.Bag{{Part: "top"}, {Part: "4 × drawers"}, {Part: "legs"}}; err != nil || !cmp.Equal(want, bags) {
		t.Errorf("ReadBags of nothing = %v, %v", bags, err)
	}
	if _, err := tagged.ReadBags(parts, strings.Split(strings.Repeat("x,", 101), ",")); !fault.Is(err, "BAGS_TOO_MANY") {
		t.Errorf("101 bags: %v", err)
	}
}

func TestCan(t *testing.T) {
	p := &materialsv1.Product{DisplayName: "Gel stripper", Details: &typev1.ProductDetails{Maker: "Millrace", Colour: "amber", Hazards: "H225"}}
	want := printed.Label{Title: "Gel stripper", Lines: []string{"Millrace", "amber", "opened: ____", "by: ____"}, Warning: "Careful: H225. Read the sheet.", Code: "c"}
	if diff := cmp.Diff(want, tagged.Can(p, "c", words)); diff != "" {
		t.Errorf("Can (-want +got):\n%s", diff)
	}
	if l := tagged.Can(&materialsv1.Product{DisplayName: "Wax"}, "", words); l.Warning != "Read the sheet." || len(l.Lines) != 2 {
		t.Errorf("a can of which nothing is known says %v, warns %q", l.Lines, l.Warning)
	}
}
