package workflow

import (
	"slices"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Edit puts other stages in the place of the body's, as somebody wrote them, and judges
// them. What follows from the stage and its part, cautions above all, is not theirs to
// write. Faults, at the stage: STAGE_TWICE, STAGE_UNKNOWN, STAGES_GO_ROUND, PART_UNKNOWN,
// GRIT_UNKNOWN, PRODUCT_NOT_FOUND, COATING_SHEET_MISSING; PLAN_TOO_LARGE.
func (b PlanBody) Edit(stages []PlanStage, products []PlanProduct, l *Labour) (PlanBody, error) {
	if err := tooLarge(len(stages)); err != nil {
		return PlanBody{}, err
	}
	before := byTitle(b.Stages)
	b.know(products)
	written := make([]PlanStage, len(stages))
	for i, s := range stages {
		old, known := before[s.Title()]
		done, err := b.complete(s, old, known, i)
		if err != nil {
			return PlanBody{}, err
		}
		written[i] = done
	}
	order, err := orderOf(written)
	if err != nil {
		return PlanBody{}, err
	}
	b.Stages = make([]PlanStage, len(order))
	for to, from := range order {
		b.Stages[to] = written[from]
	}
	if err := b.judge(); err != nil {
		return PlanBody{}, err
	}
	err = b.measure(l)
	return b, err
}

func byTitle(stages []PlanStage) map[string]PlanStage {
	out := make(map[string]PlanStage, len(stages))
	for _, s := range stages {
		out[s.Title()] = s
	}
	return out
}

// complete fills in what follows from a stage that somebody wrote; old is the one of that
// title that was there.
func (b *PlanBody) complete(s, old PlanStage, known bool, i int) (PlanStage, error) {
	part, there := b.part(s.Part)
	if s.Part != "" && !there {
		return s, fault.New(fault.Invalid, "PART_UNKNOWN", "The plan has no part %q; name one of its parts, or none for the whole piece.", s.Part).At(atStage(i, "part_label"))
	}
	if err := b.productOf(&s, i); err != nil {
		return s, err
	}
	if known && old.Product == s.Product && old.ProductName == s.ProductName {
		s.DryFilmUm = old.DryFilmUm // which may be less than the sheet's
	}
	if !known && s.Needs == finish.NeedsNothing {
		s.Needs = usualNeeds(s.Kind)
	}
	step, err := b.step(s)
	if f := fault.Of(err); f != nil {
		return s, f.At(atStage(i, "grit"))
	}
	s.Cautions = b.cautions(step, part, there)
	if s.Kind.LeavesFilm() {
		s.Litres, err = litres(step.Product, part.AreaM2)
	}
	return s, err
}

// cautions are those of a stage on a part; of one on the whole piece, on any of its parts.
func (b *PlanBody) cautions(step finish.Step, part PlanPart, there bool) []string {
	if there {
		return ids(step.Hazards(part.assessment()))
	}
	var all []finish.Hazard
	for _, p := range b.Parts {
		all = append(all, step.Hazards(p.assessment())...)
	}
	return ids(all)
}

// shopMixes are the kinds of coat for which no product need be named: every shop mixes
// shellac.
var shopMixes = []finish.Kind{finish.BlockStains, finish.TieCoat, finish.SealCoat, finish.SpotSeal}

// productOf checks a stage's product and names it.
func (b *PlanBody) productOf(s *PlanStage, i int) error {
	coat := s.Kind.LeavesFilm() || s.Kind == finish.SpotSeal
	shellac := finish.ShopShellac().Name
	if s.Product == id.Nil {
		mixed := s.ProductName == shellac || s.ProductName == "" && slices.Contains(shopMixes, s.Kind)
		s.ProductName = ""
		switch {
		case coat && !mixed:
			return fault.New(fault.NotFound, "PRODUCT_NOT_FOUND", "%s is a coat and names no product; name the one it is made with.", s.Title()).At(atStage(i, "product"))
		case coat:
			s.ProductName = shellac
		}
		return nil
	}
	p, known := b.product(s.Product)
	switch {
	case !known:
		return fault.New(fault.NotFound, "PRODUCT_NOT_FOUND", "There is no such product for %s.", s.Title()).At(atStage(i, "product"))
	case coat && p.Sheet == nil:
		return p.sheetMissing().At(atStage(i, "product"))
	}
	s.ProductName = p.Name
	if p.Sheet != nil {
		s.DryFilmUm = p.Sheet.DryFilmUm
	}
	return nil
}

// usualNeeds is what a new stage waits for, where nobody said: a coat for a film that takes
// it, paper for one that is hard enough, hands for one that has cured.
func usualNeeds(k finish.Kind) finish.Needs {
	switch {
	case k.LeavesFilm():
		return finish.NeedsRecoat
	case disturbs(k):
		return finish.NeedsSand
	case k == finish.HardwareOn || k == finish.WrapUp:
		return finish.NeedsCured
	}
	return finish.NeedsNothing
}

// used is the product of a stage as the rules see it.
func (b *PlanBody) used(s PlanStage) finish.Product {
	if s.Product == id.Nil && s.ProductName == "" {
		return finish.Product{}
	}
	p := finish.ShopShellac()
	if known, is := b.product(s.Product); is {
		p = known.seen()
	}
	p.DryFilmUm = s.DryFilmUm
	return p
}

// step is the stage as the rules see it. Fault: GRIT_UNKNOWN.
func (b *PlanBody) step(s PlanStage) (st finish.Step, err error) {
	st = finish.Step{Kind: s.Kind, Product: b.used(s), Wait: s.Unattended, Why: s.Why}
	if s.Grit != "" || s.Kind == finish.Sand || s.Kind == finish.ScuffSand {
		st.Grit, err = finish.ParseGrit(s.Grit)
	}
	return st, err
}
