package finish_test

import (
	"strings"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// The rows of the decision table on which woodworking magazines and repair guides agree.
func TestReadSpotTests(t *testing.T) {
	spirits := func(r finish.Reaction) finish.SpotTest {
		return finish.SpotTest{Solvent: finish.MineralSpirits, Reaction: r}
	}
	alcohol := func(r finish.Reaction) finish.SpotTest {
		return finish.SpotTest{Solvent: finish.DenaturedSpirit, Reaction: r}
	}
	thinner := func(r finish.Reaction) finish.SpotTest {
		return finish.SpotTest{Solvent: finish.LacquerThinner, Reaction: r}
	}
	for name, c := range map[string]struct {
		tests []finish.SpotTest
		waxed bool
		first finish.Family
		next  finish.Solvent
	}{
		"Untested":        {nil, false, "", finish.MineralSpirits},
		"WaxOnIt":         {[]finish.SpotTest{spirits(finish.WaxComes)}, true, "", finish.DenaturedSpirit},
		"Shellac":         {[]finish.SpotTest{spirits(finish.NoReaction), alcohol(finish.Softens)}, false, finish.Shellac, ""},
		"WaxedShellac":    {[]finish.SpotTest{alcohol(finish.Softens), spirits(finish.WaxComes)}, true, finish.Shellac, ""},
		"SuspectLacquer":  {[]finish.SpotTest{alcohol(finish.Whitens)}, false, finish.NitroLacquer, finish.LacquerThinner},
		"Mixture":         {[]finish.SpotTest{alcohol(finish.HalfWay)}, false, finish.NitroLacquer, ""},
		"Lacquer":         {[]finish.SpotTest{alcohol(finish.NoReaction), thinner(finish.Softens)}, false, finish.NitroLacquer, ""},
		"LacquerWhitened": {[]finish.SpotTest{alcohol(finish.Whitens), thinner(finish.Softens)}, false, finish.NitroLacquer, ""},
		"Varnish":         {[]finish.SpotTest{spirits(finish.NoReaction), alcohol(finish.NoReaction), thinner(finish.NoReaction)}, false, finish.OilVarnish, ""},
		"NotYetThinner":   {[]finish.SpotTest{spirits(finish.NoReaction), alcohol(finish.NoReaction)}, false, "", finish.LacquerThinner},
		"OnlyThinner":     {[]finish.SpotTest{spirits(finish.NoReaction), thinner(finish.Softens)}, false, finish.NitroLacquer, finish.DenaturedSpirit},
		"TestedAgain":     {[]finish.SpotTest{alcohol(finish.NoReaction), alcohol(finish.Softens)}, false, finish.Shellac, ""},
	} {
		r, err := finish.ReadSpotTests(c.tests)
		var first finish.Family
		if len(r.Families) > 0 {
			first = r.Families[0]
		}
		if err != nil || r.Waxed != c.waxed || first != c.first || r.Next != c.next || r.Why == "" {
			t.Errorf("%s: %+v, %v, want waxed %v, %q, next %q", name, r, err, c.waxed, c.first, c.next)
		}
	}
}

// What is known is said in a sentence, for whoever typed something else.
func TestRefusals_SayWhatIsKnown(t *testing.T) {
	_, err := finish.ReadSpotTests([]finish.SpotTest{{Solvent: finish.MineralSpirits, Reaction: finish.Whitens}})
	if f := fault.Of(err); f == nil || !strings.HasSuffix(f.Text, "it is one of these: none, wax comes off.") {
		t.Errorf("a reaction is refused with %v", err)
	}
	_, err = finish.PlanPart(finish.Assessment{Material: finish.SolidWood, OldFinish: "jam"}, finish.Wanted{Look: finish.Painted}, finish.Palette{Paint: product(finish.Latex)})
	if f := fault.Of(err); f == nil || !strings.Contains(f.Text, "use one of these: shellac, dewaxed shellac, nitrocellulose lacquer, ") || strings.ContainsAny(f.Text, "[]") {
		t.Errorf("an old finish is refused with %v", err)
	}
}

func TestReadSpotTests_Refuses(t *testing.T) {
	for reason, test := range map[string]finish.SpotTest{
		"SOLVENT_UNKNOWN": {Solvent: "lemonade", Reaction: finish.Softens}, "REACTION_UNKNOWN": {Solvent: finish.MineralSpirits, Reaction: finish.Whitens},
	} {
		if _, err := finish.ReadSpotTests([]finish.SpotTest{test}); !fault.Is(err, reason) {
			t.Errorf("%v = %v, want %s", test, err, reason)
		}
	}
}
