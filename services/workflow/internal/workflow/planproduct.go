package workflow

import (
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
