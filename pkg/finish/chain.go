package finish

import (
	"cmp"
	"fmt"
)

// chain is the stages of a part, one after the other.
type chain struct {
	part    Part
	stages  []Stage
	seen    map[Kind]int
	surface *surface
	before  int   // index of the stage before
	coat    int   // index of the last coat
	dries   int   // index of what its drying is counted from: it, or what bares it
	waits   Needs // what was waited for since the stage before
}

// add makes a stage of a step; a wait alone goes into the coat that it is for.
func (c *chain) add(st Step) error {
	n := coming(st)
	defer c.surface.do(n)
	if st.Kind == Dry || st.Kind == Cure {
		c.stages[c.dries].Step.Wait += st.Wait
		if st.Kind == Cure {
			c.waits = NeedsCured
		}
		return nil
	}
	s, err := c.part.stage(st, c.surface)
	if err != nil {
		return err
	}
	c.seen[st.Kind]++
	if n := c.seen[st.Kind]; n > 1 {
		s.Key = fmt.Sprintf("%s-%d", s.Key, n)
	}
	s.After, s.Needs = []int{c.before}, c.surface.needs(n)
	if c.waits != NeedsNothing {
		s.Needs, c.waits = c.waits, NeedsNothing
	}
	c.closes(n)
	c.before = len(c.stages)
	if n.is.layer {
		c.coat = c.before
	}
	if n.is.layer || st.Kind == WipeOff || st.Kind == Unmask {
		c.dries = c.before
	}
	c.stages = append(c.stages, s)
	return nil
}

// closes says of the last coat until when the next one must be on it, where that holds by
// the open window alone.
func (c *chain) closes(n *next) {
	s := c.surface
	if n.is.layer && s.coated && !s.scuffed && s.waited <= s.top.RecoatCloses {
		c.stages[c.coat].Latest = s.top.RecoatCloses
	}
}

// keys are what people call a stage of a kind; of others it is the kind itself.
var keys = map[Kind]string{HardwareOff: "hardware-off", HardwareOn: "hardware-on", LeadTest: "lead-test", Clean: "clean", WashOff: "wash-off", DryOut: "dry-out",
	RaiseGrain: "raise-grain", DustOff: "dust-off", BlockStains: "block-stains", TieCoat: "tie-coat", PaintCoat: "paint", StainCoat: "stain", GlazeCoat: "glaze",
	TonerCoat: "tone", OilCoat: "oil", TopcoatCoat: "topcoat", WaxCoat: "wax", ScuffSand: "scuff-sand",
	SealCoat: "seal", SpotSeal: "spot-seal", OpenPores: "open-pores", LimingCoat: "lime", WipeOff: "wipe-off", WrapUp: "wrap-up",
	GlueClamp: "glue", VeneerRepair: "veneer-repair", WipeSolvent: "wipe-solvent"}

func key(st Step) string {
	return cmp.Or(pointKeys[st.Point], keys[st.Kind], string(st.Kind))
}
