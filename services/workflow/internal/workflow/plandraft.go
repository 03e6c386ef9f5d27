package workflow

import (
	"fmt"
	"slices"

	"tackfree/pkg/coating"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Draft makes the stages that give the parts their looks, with the times that stages take
// here, and judges them. Faults: PART_TWICE, those of the parts, the looks and the
// products, PRODUCT_MISSING, PLAN_IMPOSSIBLE, PLAN_TOO_LARGE.
func (b PlanBody) Draft(l *Labour) (PlanBody, error) {
	if err := b.apart(); err != nil {
		return PlanBody{}, err
	}
	if err := b.coatsChosen(); err != nil {
		return PlanBody{}, err
	}
	stages, err := finish.PlanPiece(b.seenParts(), b.palette(b.Choices))
	if err != nil {
		return PlanBody{}, err
	}
	if err := tooLarge(len(stages)); err != nil {
		return PlanBody{}, err
	}
	b.Stages = make([]PlanStage, len(stages))
	for i, s := range stages {
		if b.Stages[i], err = b.planned(s, stages, l); err != nil {
			return PlanBody{}, err
		}
	}
	if err := b.judge(); err != nil {
		return PlanBody{}, err
	}
	err = b.measure(l, nil)
	return b, err
}

// apart refuses one part twice, or two that have one label.
func (b PlanBody) apart() error {
	seen := map[string]bool{}
	for i, p := range b.Parts {
		if seen[p.Label] {
			return fault.New(fault.Invalid, "PART_TWICE", "%s is wanted twice; say once what it is to become.", p.Label).At(fmt.Sprintf("parts[%d].part", i))
		}
		seen[p.Label] = true
	}
	return nil
}

// coatsChosen refuses a chosen product that nobody can plan with.
func (b PlanBody) coatsChosen() error {
	if err := b.sheetsOf(b.Choices, "products"); err != nil {
		return err
	}
	for i, p := range b.Parts {
		if err := b.sheetsOf(p.Choices, fmt.Sprintf("parts[%d].products", i)); err != nil {
			return err
		}
	}
	return nil
}

func (b PlanBody) sheetsOf(choices []PlanChoice, path string) error {
	for i, c := range choices {
		if p, _ := b.product(c.Product); p.Sheet == nil {
			return p.sheetMissing().At(path + index(i) + ".product")
		}
	}
	return nil
}

func (p PlanProduct) sheetMissing() *fault.Fault {
	return fault.New(fault.Precondition, "COATING_SHEET_MISSING", "Nobody entered the data sheet of %s, so no coat can be planned with it. Enter it first.", p.Name)
}

// planned is a stage as the rules made it, with the time that it takes here.
func (b *PlanBody) planned(s finish.Stage, all []finish.Stage, l *Labour) (PlanStage, error) {
	attended, err := l.attended(s.Step.Kind, s.Attended)
	part, there := b.part(s.Part)
	out := PlanStage{Part: s.Part, Key: s.Key, Kind: s.Step.Kind, Skill: s.Skill, Station: s.Station, Attended: attended, Unattended: s.Step.Wait,
		Latest: s.Latest, Needs: s.Needs, Why: s.Step.Why, Litres: s.Litres,
		ProductName: s.Step.Product.Name, DryFilmUm: s.Step.Product.DryFilmUm}
	if s.Step.Grit != (finish.Grit{}) {
		out.Grit = s.Step.Grit.String()
	}
	if s.Step.Product.ID != "" {
		if out.Product, err = id.Parse(s.Step.Product.ID); err != nil {
			return PlanStage{}, fmt.Errorf("product of %s: %w", s.Title(), err)
		}
	}
	out.Cautions = b.warned(s.Step, out.Product, part, there)
	for _, before := range s.After {
		out.After = append(out.After, all[before].Title())
	}
	return out, err
}

func ids(hazards []finish.Hazard) (out []string) {
	for _, h := range hazards {
		if !slices.Contains(out, h.ID) {
			out = append(out, h.ID)
		}
	}
	return out
}

// litres is what a coat of an area takes of a product as sold; 0: not known.
func litres(p finish.Product, areaM2 float64) (float64, error) {
	if p.SolidsPercent == 0 || p.DryFilmUm == 0 || areaM2 == 0 {
		return 0, nil
	}
	transfer := p.TransferPercent
	if transfer == 0 {
		usual, err := p.Method.TransferEfficiency()
		if err != nil {
			return 0, err
		}
		transfer = usual
	}
	need, err := coating.Job{AreaM2: areaM2, Coats: 1, DryFilmUm: p.DryFilmUm, SolidsPercent: p.SolidsPercent, ThinningPercent: p.ThinningPercent,
		TransferPercent: transfer, SetUps: 1, LossPerSetUpLitres: p.LossPerSetUpLitres}.Need()
	return need.Litres, err
}
