package workflow

import (
	"slices"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Edit puts other stages in the place of the body's, as somebody wrote them, and judges
// them by the products as they are now. What was begun is kept as it was, with the sheet by
// which it was. What follows from a stage and its part, cautions above all, is not theirs to
// write. Faults, at the stage: STAGE_TWICE, STAGE_UNKNOWN, STAGES_GO_ROUND, PART_UNKNOWN,
// GRIT_UNKNOWN, PRODUCT_NOT_FOUND, COATING_SHEET_MISSING; PLAN_TOO_LARGE.
func (b PlanBody) Edit(stages []PlanStage, begun map[id.ID]bool, products []PlanProduct, l *Labour) (PlanBody, error) {
	if err := tooLarge(len(stages)); err != nil {
		return PlanBody{}, err
	}
	was := b
	b.know(products)
	there := byPlace(was.Stages)
	written := make([]PlanStage, len(stages))
	for i, s := range stages {
		old, known := there[s.place()]
		if known && begun[old.ID] {
			written[i] = was.kept(old)
			continue
		}
		done, err := b.complete(s, old, was, i)
		if err != nil {
			return PlanBody{}, err
		}
		written[i] = done
	}
	if err := b.put(written); err != nil {
		return PlanBody{}, err
	}
	if err := b.judge(); err != nil {
		return PlanBody{}, err
	}
	err := b.measure(l, begun)
	return b, err
}

// place is where a stage is in its plan.
func (s PlanStage) place() [2]string { return [2]string{s.Part, s.Key} }

func byPlace(stages []PlanStage) map[[2]string]PlanStage {
	out := make(map[[2]string]PlanStage, len(stages))
	for _, s := range stages {
		out[s.place()] = s
	}
	return out
}

// put has the stages in an order in which each comes after those it waits for.
func (b *PlanBody) put(written []PlanStage) error {
	order, err := orderOf(written)
	if err != nil {
		return err
	}
	b.Stages = make([]PlanStage, len(order))
	for to, from := range order {
		b.Stages[to] = written[from]
	}
	return nil
}

// kept is a stage that was begun, with the sheet by which it was.
func (b *PlanBody) kept(s PlanStage) PlanStage {
	if s.Sheet == nil {
		p, _ := b.product(s.Product)
		s.Sheet = p.Sheet
	}
	return s
}

// complete fills in what follows from a stage that somebody wrote; old is the one in its
// place in the body as it was, or the zero stage.
func (b *PlanBody) complete(s, old PlanStage, was PlanBody, i int) (PlanStage, error) {
	part, there := b.part(s.Part)
	if s.Part != "" && !there {
		return s, fault.New(fault.Invalid, "PART_UNKNOWN", "The plan has no part %q; name one of its parts, or none for the whole piece.", s.Part).At(atStage(i, "part_label"))
	}
	if err := b.productOf(&s, i); err != nil {
		return s, err
	}
	s.ID, s.Sheet = id.Nil, nil
	switch known := old.Key != ""; {
	case known && old.Product == s.Product:
		b.again(&s, old, was)
	case !known && s.Needs == finish.NeedsNothing:
		s.Needs = usualNeeds(s.Kind)
	}
	step, err := b.step(s)
	if f := fault.Of(err); f != nil {
		return s, f.At(atStage(i, "grit"))
	}
	s.Cautions = b.warned(step, s.Product, part, there)
	if s.Kind.LeavesFilm() {
		s.Litres, err = litres(step.Product, part.AreaM2)
	}
	return s, err
}

// again makes a stage out of the one in its place that had the same product: it is the same
// if it is of the same kind, its coat is as thin as that was, and what was by the product's
// sheet is by the sheet as it is now.
func (b *PlanBody) again(s *PlanStage, old PlanStage, was PlanBody) {
	if old.Kind == s.Kind {
		s.ID = old.ID
	}
	then, _ := was.product(s.Product)
	now, _ := b.product(s.Product)
	if then.Sheet == nil || now.Sheet == nil {
		s.DryFilmUm = old.DryFilmUm
		return
	}
	s.DryFilmUm = follow(old.DryFilmUm, old.DryFilmUm, then.Sheet.DryFilmUm, now.Sheet.DryFilmUm)
	s.Latest = follow(s.Latest, old.Latest, then.Sheet.RecoatCloses, now.Sheet.RecoatCloses)
	if old.Unattended == then.Sheet.Cure {
		s.Unattended = follow(s.Unattended, old.Unattended, then.Sheet.Cure, now.Sheet.Cure)
		return
	}
	s.Unattended = follow(s.Unattended, old.Unattended, then.Sheet.Recoat, now.Sheet.Recoat)
}

// follow is a figure by the sheet as it is now, if nobody wrote another than was there and
// that was by the sheet as it was then.
func follow[T comparable](written, was, then, now T) T {
	if written == was && was == then {
		return now
	}
	return written
}

// warned are the cautions of a stage with those of the product that it is done with.
func (b *PlanBody) warned(step finish.Step, product id.ID, part PlanPart, there bool) []string {
	p, _ := b.product(product)
	return united(b.cautions(step, part, there), p.Warns())
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

// used is the product of a stage as the rules see it.
func (b *PlanBody) used(s PlanStage) finish.Product {
	if s.Product == id.Nil && s.ProductName == "" {
		return finish.Product{}
	}
	p := finish.ShopShellac()
	if known, is := b.product(s.Product); is {
		if s.Sheet != nil {
			known.Sheet = s.Sheet
		}
		p = known.seen()
	}
	p.DryFilmUm = s.DryFilmUm
	return p
}

// step is the stage as the rules see it. Fault: GRIT_UNKNOWN.
func (b *PlanBody) step(s PlanStage) (st finish.Step, err error) {
	st = finish.Step{Kind: s.Kind, Product: b.used(s), Wait: s.Unattended, Why: s.Why}
	if s.Kind == finish.Inspect {
		st.Point = finish.PointOf(s.Key)
	}
	if s.Grit != "" || s.Kind == finish.Sand || s.Kind == finish.ScuffSand {
		st.Grit, err = finish.ParseGrit(s.Grit)
	}
	return st, err
}
