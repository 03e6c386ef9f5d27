package plan

import (
	"net/http"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// published is what became of a plan that people are to know.
type published struct {
	*workflowv1.PublishPlanResponse
}

// Given is how many stages somebody has who did not have them before.
func (p *published) Given() int { return int(p.AssignedStages) }

// Freed is how many stages nobody has any more.
func (p *published) Freed() int { return int(p.FreedStages) }

// publish makes a proposal what people know. Sent again, the same form says the same again.
func (p *plan) publish(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	r := &workflowv1.PublishPlanRequest{RequestId: a.RequestID(), Proposal: f.Text("proposal"), LastDate: f.Day("last")}
	err := f.Err()
	it := &better{}
	if err == nil {
		var out *workflowv1.PublishPlanResponse
		if out, err = a.Kit.Suite.Planning.PublishPlan(a.Context(), r); err == nil {
			it.Published = &published{out}
		}
	}
	if err != nil && fault.Of(err) == nil {
		return err
	}
	return p.showBetter(w, a, it, err)
}
