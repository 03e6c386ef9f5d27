package workflow

import (
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/datasheet"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// PlanState is what a version of a finish plan is.
type PlanState string

// The states of a version.
const (
	PlanDraft      PlanState = "draft"
	PlanApproved   PlanState = "approved"
	PlanSuperseded PlanState = "superseded" // by a later version
)

// FinishPlan is one version of the plan by which a piece gets its look.
type FinishPlan struct {
	Piece      id.ID
	Version    int32
	State      PlanState
	Reason     string // of an amended plan: why
	Actor      string // who drafted it, and once it is approved who approved it
	DraftedAt  time.Time
	ApprovedAt time.Time // zero: not yet
	PlanBody
}

// PlanBody is what a version says. It is kept as it was then, also what was taken from
// elsewhere: a rule or a sheet that changes later changes no version. The next one goes by
// what they are then, but for the stages that were begun.
type PlanBody struct {
	Parts    []PlanPart    `json:"parts"`
	Choices  []PlanChoice  `json:"choices"`  // for all parts that choose nothing else
	Products []PlanProduct `json:"products"` // each that a choice or a stage names
	Stages   []PlanStage   `json:"stages"`   // each after those it waits for
	Findings []PlanFinding `json:"findings"`
	Needs    []PlanNeed    `json:"needs"`
	Hands    Hands         `json:"hands"`
	Zone     id.ID         `json:"zone"` // where coats dry; id.Nil: nobody said
	ZoneWord string        `json:"zone_word"`
}

// PlanStage is a stage as a plan has it.
type PlanStage struct {
	ID          id.ID         `json:"id"`   // of the piece's stage; id.Nil before the plan is approved
	Part        string        `json:"part"` // label; empty: the whole piece
	Key         string        `json:"key"`
	Kind        finish.Kind   `json:"kind"`
	Grit        string        `json:"grit"`
	Product     id.ID         `json:"product"` // id.Nil: none, or what every shop mixes
	ProductName string        `json:"product_name"`
	DryFilmUm   float64       `json:"dry_film_um"` // of its coat; 0: not known, or none
	Skill       string        `json:"skill"`
	Station     string        `json:"station"`
	Attended    time.Duration `json:"attended"`
	Unattended  time.Duration `json:"unattended"`
	Latest      time.Duration `json:"latest"` // until which the next coat bonds; 0: for ever
	Needs       finish.Needs  `json:"needs"`
	After       []string      `json:"after"`    // titles
	Cautions    []string      `json:"cautions"` // ids, see finish.Hazard
	Why         string        `json:"why"`
	Litres      float64       `json:"litres"` // of the product as sold; 0: not known, or none
	// Of its product, if the stage was begun when the plan was amended: the sheet by which it
	// was. Nil: by the one of the product.
	Sheet *datasheet.Sheet `json:"sheet,omitempty"`
}

// Title names the stage for people, and in a plan.
func (s PlanStage) Title() string { return Stage{Key: s.Key, PartLabel: s.Part}.Title() }

// PlanFinding is a rule that the plan breaks.
type PlanFinding struct {
	Stage    string        `json:"stage"` // title
	Rule     PlanRule      `json:"rule"`
	Override *PlanOverride `json:"override,omitempty"` // nil: nobody answers for it
}

// PlanRule is a rule as it read then.
type PlanRule struct {
	ID        string          `json:"id"`
	Severity  finish.Severity `json:"severity"`
	Says      string          `json:"says"`
	Why       string          `json:"why"`
	Instead   string          `json:"instead"`
	Source    string          `json:"source,omitempty"`
	HasRemedy bool            `json:"has_remedy"`
}

// RuleOf is a rule in words alone.
func RuleOf(r finish.Rule) PlanRule {
	return PlanRule{ID: r.ID, Severity: r.Severity, Says: r.Says, Why: r.Why, Instead: r.Instead, Source: r.Source, HasRemedy: r.HasRemedy()}
}

// PlanOverride is that somebody answers for breaking a rule.
type PlanOverride struct {
	Rule       string `json:"rule"`
	Stage      string `json:"stage"` // title; empty: wherever it is broken
	Person     id.ID  `json:"person"`
	PersonName string `json:"person_name"`
	Reason     string `json:"reason"`
}

// part finds a part by its label; empty is none of them.
func (b *PlanBody) part(label string) (PlanPart, bool) {
	for _, p := range b.Parts {
		if p.Label == label {
			return p, true
		}
	}
	return PlanPart{}, false
}

// product finds a product that the plan knows.
func (b *PlanBody) product(i id.ID) (PlanProduct, bool) {
	for _, p := range b.Products {
		if p.ID == i {
			return p, true
		}
	}
	return PlanProduct{}, false
}

// know takes products as they are now into the plan. One whose sheet is gone keeps the one
// that it had.
func (b *PlanBody) know(products []PlanProduct) {
	all := slices.Clone(b.Products)
	for _, p := range products {
		i := slices.IndexFunc(all, func(old PlanProduct) bool { return old.ID == p.ID })
		if i < 0 {
			all = append(all, p)
			continue
		}
		if p.Sheet == nil {
			p.Sheet = all[i].Sheet
		}
		all[i] = p
	}
	b.Products = all
}

// tooLarge refuses more stages than a piece can have.
func tooLarge(stages int) error {
	if stages <= most {
		return nil
	}
	return fault.New(fault.Invalid, "PLAN_TOO_LARGE",
		"That makes %d stages, and a piece can have %d. Plan alike parts as one part with a count.", stages, most).At("parts")
}

// atStage is the path of a field of a stage that somebody edited.
func atStage(i int, field string) string { return fmt.Sprintf("stages[%d].%s", i, field) }

func index(i int) string { return fmt.Sprintf("[%d]", i) }
