package finish_test

import (
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

func TestReadSpotTests_Refuses(t *testing.T) {
	for reason, test := range map[string]finish.SpotTest{
		"SOLVENT_UNKNOWN": {Solvent: "lemonade", Reaction: finish.Softens}, "REACTION_UNKNOWN": {Solvent: finish.MineralSpirits, Reaction: finish.Whitens},
	} {
		if _, err := finish.ReadSpotTests([]finish.SpotTest{test}); !fault.Is(err, reason) {
			t.Errorf("%v = %v, want %s", test, err, reason)
		}
	}
}
