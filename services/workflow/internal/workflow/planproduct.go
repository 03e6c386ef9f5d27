package workflow

import (
	"slices"

	"tackfree/pkg/datasheet"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// PlanProduct is a product as it was when the plan was made.
type PlanProduct struct {
	ID     id.ID            `json:"id"`
	Name   string           `json:"name"`
	Sheet  *datasheet.Sheet `json:"sheet,omitempty"` // nil: no coating, or nobody entered its sheet
	OnHand *PlanAmount      `json:"-"`               // nil: not asked for
	Factor float64          `json:"-"`               // what the shop takes for each unit by the sheet; 0: not asked for
	// Ids of what its details want read, see finish.Hazard. What is said of the product later
	// counts for plans that are approved or amended from then on: a stage keeps what it had.
	Cautions []string `json:"cautions,omitempty"`
}

// Warns are ids of the cautions that go with the product at whatever kind of stage: those of its
// details, and those that a coat of its film has.
func (p PlanProduct) Warns() []string {
	all := slices.Clone(p.Cautions)
	if p.Sheet == nil {
		return all
	}
	return united(all, ids(finish.Step{Kind: finish.TopcoatCoat, Product: p.seen()}.Hazards(finish.Assessment{})))
}

// united are the ids of both lists, each once, those of the first before the others.
func united(all, more []string) []string {
	for _, c := range more {
		if !slices.Contains(all, c) {
			all = append(all, c)
		}
	}
	return all
}

// seen is the product as the rules see it; one without a sheet is only its name.
func (p PlanProduct) seen() (out finish.Product) {
	if p.Sheet != nil {
		out = p.Sheet.Product()
	}
	out.ID, out.Name = p.ID.String(), p.Name
	return out
}

// coating is how the product dries and in what air it may be put on; nil for one without a
// sheet.
func (p PlanProduct) coating() *Coating {
	if p.Sheet == nil {
		return nil
	}
	return &Coating{Limits: p.Sheet.Limits(), Dries: p.Sheet.Dries()}
}
