package workflow

import (
	"slices"
	"time"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Approve makes the plan the stages of its piece, and the piece a planned one. Faults:
// RULE_BROKEN, OVERRIDE_UNKNOWN.
func (p *FinishPlan) Approve(piece Piece, overrides []PlanOverride, actor string, now time.Time, newID func() id.ID) (Plan, error) {
	if err := p.Answer(overrides); err != nil {
		return Plan{}, err
	}
	if err := p.broken(); err != nil {
		return Plan{}, err
	}
	p.State, p.Actor, p.ApprovedAt = PlanApproved, actor, now
	piece.Planned = true
	piece.Version++
	return Plan{Piece: piece, Stages: p.layOut(newID)}, nil
}

// layOut makes the piece's stages of those of the plan, and names the ones that have no id.
func (p *FinishPlan) layOut(newID func() id.ID) []Stage {
	ids := make(map[string]id.ID, len(p.Stages))
	for i := range p.Stages {
		if p.Stages[i].ID == id.Nil {
			p.Stages[i].ID = newID()
		}
		ids[p.Stages[i].Title()] = p.Stages[i].ID
	}
	out := make([]Stage, len(p.Stages))
	for i, s := range p.Stages {
		out[i] = p.stage(s)
		out[i].Position = int32(i + 1)
		for _, title := range s.After {
			out[i].After = append(out[i].After, ids[title])
		}
	}
	for i, gone := range bared(out) {
		out[i].DisturbsOld = p.disturbsOld(out[i], gone)
	}
	return out
}

// stage is one stage of the plan as work on the piece.
func (p *FinishPlan) stage(s PlanStage) Stage {
	part, _ := p.part(s.Part)
	out := Stage{ID: s.ID, Piece: p.Piece, Part: part.ID, PartLabel: s.Part, Key: s.Key, Kind: string(s.Kind), Skill: s.Skill, Attended: s.Attended, Unattended: s.Unattended,
		Finish: Finish{Grit: s.Grit, Product: s.Product, ProductName: s.ProductName, Station: s.Station, Needs: s.Needs, Latest: s.Latest,
			Cautions: p.warnings(s), Why: s.Why, Zone: p.Zone, AreaM2: part.AreaM2, Amount: s.Amount()}}
	product, known := p.product(s.Product)
	if !known || product.Sheet == nil {
		return out
	}
	out.Method = string(product.Sheet.Method)
	if s.Kind.LeavesFilm() {
		out.Coating, out.WetFilmUm = product.coating(), product.Sheet.WetFilm(s.DryFilmUm)
	}
	return out
}

// warnings are the cautions of a stage, with those of what its kind amounts to if a shop
// invented it.
func (p *FinishPlan) warnings(s PlanStage) []string {
	kind := warnsLike(s.Kind)
	if kind == s.Kind {
		return s.Cautions
	}
	part, there := p.part(s.Part)
	return united(slices.Clone(s.Cautions), p.cautions(finish.Step{Kind: kind}, part, there))
}

// disturbsOld reports whether a stage makes dust or debris of an old coating that is presumed
// to hold lead; gone are the parts on which none lies open when it begins.
func (p *FinishPlan) disturbsOld(s Stage, gone bare) bool {
	return disturbs(finish.Kind(s.Kind)) && slices.ContainsFunc(p.Parts, func(part PlanPart) bool {
		return touches(part.ID, s) && part.mayHoldLead() && !gone.from(finish.Kind(s.Kind), part.ID)
	})
}
