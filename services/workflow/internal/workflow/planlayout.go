package workflow

import (
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

// Judged is the body with the rules as they are now looked at once more.
func (b PlanBody) Judged() (PlanBody, error) {
	err := b.judge()
	return b, err
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
	old := p.oldCoatings()
	for i, s := range p.Stages {
		out[i] = p.stage(s)
		out[i].Position = int32(i + 1)
		out[i].DisturbsOld = old.disturbedBy(s)
		for _, title := range s.After {
			out[i].After = append(out[i].After, ids[title])
		}
	}
	return out
}

// stage is one stage of the plan as work on the piece.
func (p *FinishPlan) stage(s PlanStage) Stage {
	part, _ := p.part(s.Part)
	out := Stage{ID: s.ID, Piece: p.Piece, Part: part.ID, PartLabel: s.Part, Key: s.Key, Kind: string(s.Kind), Skill: s.Skill, Attended: s.Attended, Unattended: s.Unattended,
		Finish: Finish{Grit: s.Grit, Product: s.Product, ProductName: s.ProductName, Station: s.Station, Needs: s.Needs, Latest: s.Latest,
			Cautions: s.Cautions, Why: s.Why, Zone: p.Zone, AreaM2: part.AreaM2}}
	if product, known := p.product(s.Product); known && s.Kind.LeavesFilm() {
		out.Coating = product.coating()
		if product.Sheet != nil {
			out.WetFilmUm = product.Sheet.WetFilm(s.DryFilmUm)
		}
	}
	return out
}

// oldCoatings are the parts on which an old coating with lead is presumed, as long as it is
// neither off nor below a coat of ours.
type oldCoatings map[string]bool

func (p *FinishPlan) oldCoatings() oldCoatings {
	old := oldCoatings{}
	for _, part := range p.Parts {
		old[part.Label] = part.mayHoldLead()
	}
	return old
}

// disturbedBy reports whether a stage makes dust or debris of one of them, the stages being
// asked for in their order.
func (o oldCoatings) disturbedBy(s PlanStage) bool {
	hit := false
	for label, there := range o {
		if s.Part != "" && s.Part != label {
			continue
		}
		hit = hit || there && disturbs(s.Kind)
		if s.Kind == finish.Strip || s.Kind.LeavesFilm() {
			o[label] = false
		}
	}
	return hit
}
