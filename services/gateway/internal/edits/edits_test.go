package edits_test

import (
	"net/url"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tackfree/services/gateway/internal/edits"
)

var fields = []edits.Field{{Name: "colour"}, {Name: "cautions", Many: true}}

func TestMerge(t *testing.T) {
	cases := map[string]struct {
		was, now, mine, want url.Values
		changed              bool
	}{
		"Nobody":      {url.Values{"colour": {"oat"}}, url.Values{"colour": {"oat"}}, url.Values{"colour": {"oat"}}, url.Values{"colour": {"oat"}}, false},
		"OnlyI":       {url.Values{"colour": {"oat"}}, url.Values{"colour": {"oat"}}, url.Values{"colour": {"linen"}}, url.Values{"colour": {"linen"}}, false},
		"OnlyOther":   {url.Values{"colour": {"oat"}}, url.Values{"colour": {"bone"}}, url.Values{"colour": {"oat"}}, url.Values{"colour": {"bone"}}, true},
		"BothAlike":   {url.Values{"colour": {"oat"}}, url.Values{"colour": {"bone"}}, url.Values{"colour": {"bone"}}, url.Values{"colour": {"bone"}}, false},
		"Both":        {url.Values{"colour": {"oat"}}, url.Values{"colour": {"bone"}}, url.Values{"colour": {"linen"}}, url.Values{"colour": {"linen"}}, true},
		"Emptied":     {url.Values{"colour": {"oat"}}, url.Values{}, url.Values{"colour": {"oat"}}, url.Values{}, true},
		"EmptyIsNone": {url.Values{"colour": {""}}, url.Values{}, url.Values{}, url.Values{}, false},
		"ListsOfBoth": {url.Values{"cautions": {"fire"}}, url.Values{"cautions": {"fire", "dust"}}, url.Values{"cautions": {"vapour"}},
			url.Values{"cautions": {"vapour", "dust"}}, true},
		"ListsTakenFrom": {url.Values{"cautions": {"fire", "lead"}}, url.Values{"cautions": {"fire 2", "lead"}}, url.Values{"cautions": {"fire", "lead", "dust"}},
			url.Values{"cautions": {"lead", "dust", "fire 2"}}, true},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			if got := edits.Changed(fields, c.was, c.now, c.mine); got != c.changed {
				t.Errorf("Changed = %t, want %t", got, c.changed)
			}
			got := edits.Merge(fields, c.was, c.now, c.mine)
			for _, f := range fields {
				if !slices.Equal(got[f.Name], c.want[f.Name]) {
					t.Errorf("Merge: %s = %q, want %q", f.Name, got[f.Name], c.want[f.Name])
				}
			}
		})
	}
}

func TestCompare_ShowsAllReadings(t *testing.T) {
	sides := edits.Compare(fields, url.Values{"colour": {"oat"}}, url.Values{"colour": {"bone"}, "cautions": {"fire"}}, url.Values{"colour": {"linen"}})
	if len(sides) != 2 || !sides[0].Both || sides[1].Both {
		t.Fatalf("Compare = %+v, want the colour as changed by both and the cautions by one", sides)
	}
	if s := sides[0]; s.Was[0] != "oat" || s.Now[0] != "bone" || s.Mine[0] != "linen" {
		t.Errorf("Compare = %+v, want oat, bone, linen", s)
	}
}

// What only one of the two wrote is in the form that they think over, whoever it was.
func TestMerge_LosesNothing(t *testing.T) {
	word := rapid.SampledFrom([]string{"", "oat", "bone", "linen"})
	rapid.Check(t, func(t *rapid.T) {
		was, now, mine := word.Draw(t, "was"), word.Draw(t, "now"), word.Draw(t, "mine")
		got := edits.Merge(fields[:1], url.Values{"colour": {was}}, url.Values{"colour": {now}}, url.Values{"colour": {mine}}).Get("colour")
		want := mine
		if mine == was {
			want = now
		}
		if got != want {
			t.Fatalf("of %q, %q and %q the form has %q, want %q", was, now, mine, got, want)
		}
	})
}
