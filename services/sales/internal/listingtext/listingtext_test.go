package listingtext_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/services/sales/internal/listingtext"
)

func said(t listingtext.Text) (lines []string) {
	for _, l := range t.Lines {
		lines = append(lines, l.Text)
	}
	return lines
}

var dresser = listingtext.Piece{Title: "Pine dresser", Kind: "dresser", Size: "medium", Condition: "worn", Look: "paint",
	Parts: []listingtext.Part{{Label: "top", Count: 1, Length: "110 cm", Width: "45 cm"}, {Label: "drawer", Count: 4}},
	Coats: []listingtext.Coat{{"top", "paint", "Chalk white"}, {"top", "paint", "Chalk white"}, {"drawer", "paint", ""}, {"top", "topcoat", "Clear coat"}}}

func TestWrite(t *testing.T) {
	text := listingtext.Write(dresser)
	want := []string{"Kind: dresser.", "Size: medium; two people carry it.", "Parts: top (110 cm long, 45 cm wide); 4 × drawer.", "It came to the shop worn on its surface.",
		"Finish by its plan: paint.", "Coats on the top: 2 of paint (Chalk white), 1 of topcoat (Clear coat).", "Coats on the drawer: 1 of paint."}
	if diff := cmp.Diff(want, said(text)); diff != "" || text.Title.Value != "Pine dresser" || len(text.NotKnown) != 0 {
		t.Errorf("%v not known (-want +got):\n%s", text.NotKnown, diff)
	}
	facts := []listingtext.Fact{{Source: listingtext.Workflow, What: "coat", Value: "top: 2 of paint (Chalk white)"}, {Source: listingtext.Workflow, What: "coat", Value: "top: 1 of topcoat (Clear coat)"}}
	if diff := cmp.Diff(facts, text.Lines[5].Facts); diff != "" {
		t.Errorf("facts (-want +got):\n%s", diff)
	}
}

func TestWrite_NothingKnown(t *testing.T) {
	text := listingtext.Write(listingtext.Piece{Title: "Thing"})
	if want := []string{"kind", "size", "measures", "condition", "look", "coats"}; len(text.Lines) != 0 || !slices.Equal(text.NotKnown, want) {
		t.Errorf("of nothing %q, not known %v", said(text), text.NotKnown)
	}
	text = listingtext.Write(listingtext.Piece{Title: "Thing", Coats: []listingtext.Coat{{"", "oil", ""}}})
	if want := []string{"Coats on the whole piece: 1 of oil."}; !slices.Equal(said(text), want) {
		t.Errorf("of one coat %q", said(text))
	}
}

// glue are the words that a text may have beside those of the facts.
var glue = strings.Fields(`kind: size: parts: coats on the whole piece: it came to shop with nothing mend but its finish. worn surface. damaged:
	something was loose, lifted, burnt or missing. finish by plan: of small; medium; large; one person carries it. two people carry takes more than comes apart first. carry, × long, wide, thick,
	long); long). wide); wide). thick); thick).`)

// Every line says the value of each of its facts, and no word that is neither in a fact nor in the frame.
func TestWrite_InventsNothing(t *testing.T) {
	word := rapid.StringMatching(`[a-z]{3,8}`)
	maybe := func(t *rapid.T, of *rapid.Generator[string], label string) string {
		if rapid.Bool().Draw(t, label+" known") {
			return of.Draw(t, label)
		}
		return ""
	}
	rapid.Check(t, func(t *rapid.T) {
		p := listingtext.Piece{Title: word.Draw(t, "title"), Kind: maybe(t, word, "kind"), Look: maybe(t, word, "look"),
			Size: maybe(t, rapid.SampledFrom([]string{"small", "medium", "large"}), "size"), Condition: maybe(t, rapid.SampledFrom([]string{"sound", "worn", "damaged"}), "condition")}
		for range rapid.IntRange(0, 3).Draw(t, "parts") {
			p.Parts = append(p.Parts, listingtext.Part{Label: word.Draw(t, "label"), Count: rapid.IntRange(1, 5).Draw(t, "count"), Length: maybe(t, rapid.Just("3 cm"), "length"), Width: maybe(t, rapid.Just("4 cm"), "width")})
		}
		for range rapid.IntRange(0, 4).Draw(t, "coats") {
			p.Coats = append(p.Coats, listingtext.Coat{Part: rapid.SampledFrom([]string{"", "top", "leg"}).Draw(t, "part"), Kind: rapid.SampledFrom([]string{"paint", "oil"}).Draw(t, "coat"), Product: maybe(t, word, "product")})
		}
		for _, line := range listingtext.Write(p).Lines {
			facts := ""
			for _, f := range line.Facts {
				facts += " " + strings.ToLower(f.Value)
			}
			if facts == "" {
				t.Fatalf("%q says no fact", line.Text)
			}
			for _, w := range strings.Fields(strings.ToLower(line.Text)) {
				if bare := strings.Trim(w, ".,;:()"); !strings.Contains(facts, bare) && !slices.Contains(glue, w) {
					t.Fatalf("%q of %q is of no fact %q", w, line.Text, facts)
				}
			}
		}
	})
}
