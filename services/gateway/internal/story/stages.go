package story

import (
	"strings"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/gateway/internal/words"
)

func planned(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.N("story.planned", len(e.GetStagesPlanned().GetStages()))
}

func approved(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetFinishPlanApproved()
	return v.N("story.approved", len(p.GetStages()), p.GetPlanVersion()) + answering(v, p.GetOverrides())
}

func amended(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetFinishPlanAmended()
	return v.T("story.amended", p.GetPlanVersion(), len(p.GetAdded()), len(p.GetDroppedStageIds())) + answering(v, p.GetOverrides()) + because(p.GetReason())
}

// answering is who answers for breaking which rules.
func answering(v *words.Voice, overrides []*eventsv1.RuleOverride) (s string) {
	for _, o := range overrides {
		s += v.T("story.answers", o.PersonName, o.Rule)
	}
	return s
}

func stopped(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.T("story.stopped") + because(e.GetWorkStopped().GetReason())
}

func leftFloor(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.N("story.left", int(e.GetPieceLeftFloor().GetOpenStages()))
}

func backOnFloor(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.N("story.back", int(e.GetPieceBackOnFloor().GetOpenStages()))
}

func assigned(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	a := e.GetStageAssigned()
	stage := t.stage(a.GetStageId(), a.GetKind())
	switch {
	case a.GetPersonId() == "":
		return v.T("story.nobodys", stage)
	case len(a.GetHelperNames()) > 0:
		return v.T("story.assigned.with", stage, a.PersonName, t.list(a.HelperNames)) + byPlan(v, a)
	}
	return v.T("story.assigned", stage, a.GetPersonName()) + byPlan(v, a)
}

// byPlan says that a plan gave a stage, and nobody by hand.
func byPlan(v *words.Voice, a *eventsv1.StageAssigned) string {
	if !a.GetPlanned() {
		return ""
	}
	return v.T("story.by.plan")
}

func handedOver(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	h := e.GetStageHandedOver()
	return v.T("story.handed.over", t.stage(h.GetStageId(), h.GetKind()), h.GetFromPersonName(), h.GetToPersonName()) + because(h.GetNote())
}

func finished(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	f := e.GetStageFinished()
	return v.T("story.finished", t.stage(f.GetStageId(), f.GetKind())) + again(v, f.GetPass()) + although(v, f.GetOverrideReason())
}

// again says that something is rework.
func again(v *words.Voice, pass int32) string {
	if pass < 2 {
		return ""
	}
	return v.T("story.again", pass)
}

// although says that not all was ready for it.
func although(v *words.Voice, reason string) string {
	if reason == "" {
		return ""
	}
	return v.T("story.although") + because(reason)
}

func sentBack(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	b := e.GetStageSentBack()
	kind, others := "", []string{}
	for _, r := range b.GetReopened() {
		if r.StageId == b.StageId {
			kind = r.Kind
		} else {
			others = append(others, t.stage(r.StageId, r.Kind))
		}
	}
	s := v.T("story.sent.back", t.stage(b.GetStageId(), kind)) + because(b.GetReason())
	if len(others) > 0 {
		s += v.T("story.as.well", t.list(others))
	}
	return s
}

func inspected(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	i := e.GetStageInspected()
	key := "story.not.passed"
	if i.GetPassed() {
		key = "story.passed"
	}
	s := v.T(key, i.GetInspectorName(), t.stage(i.GetStageId(), "inspect"), v.Word("story.point", i.GetPoint()))
	if found := t.defects(i.GetDefects()); len(found) > 0 {
		s += v.T("story.defects", t.list(found))
	}
	if i.GetBackToStageId() != "" {
		s += v.T("story.as.well", t.stage(i.BackToStageId, ""))
	}
	return s + because(i.GetNote())
}

func (t Teller) defects(found []*eventsv1.StageInspected_Defect) (all []string) {
	for _, d := range found {
		s := t.voice.T("story.defect", t.voice.Word("defect", d.GetKind()), t.part(d.GetPartId()))
		if d.GetNote() != "" {
			s += " (" + d.Note + ")"
		}
		all = append(all, s)
	}
	return all
}

func pinned(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetStagePinned()
	s := v.T("story.pinned", t.stage(p.GetStageId(), p.GetKind()))
	if p.GetPersonName() != "" {
		s += v.T("story.pinned.with", p.PersonName)
	}
	if p.GetStartTime() != nil {
		s += v.T("story.pinned.from", t.at(p.StartTime))
	}
	return s
}

func unpinned(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	u := e.GetStageUnpinned()
	return v.T("story.unpinned", t.stage(u.GetStageId(), u.GetKind()))
}

// What a part was tested for, and how its film dries.

func tested(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetPartTested()
	s := v.T("story.tested", t.part(p.GetPartId()), v.Word("story.test", p.GetKind()), v.Word("story.result", strings.ReplaceAll(p.GetResult(), " ", "_")))
	if p.GetControls() != "" {
		s += v.T("story.controls", p.GetPersonName(), p.Controls)
	}
	return s
}

func dryForecast(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	f := e.GetPartDryForecastChanged()
	stage, part, dry := t.stage(f.GetStageId(), ""), t.part(f.GetPartId()), v.Word("story.dry", f.GetNeeds())
	if f.GetReady() == nil {
		return v.T("story.never.dry", stage, part, dry)
	}
	s := v.T("story.will.be.dry", stage, part, dry, t.at(f.Ready))
	if f.WindowCloses != nil {
		s += v.T("story.coat.by", t.at(f.WindowCloses))
	}
	return s
}

func ready(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	r := e.GetPartReady()
	return v.T("story.is.dry", t.stage(r.GetStageId(), ""), t.part(r.GetPartId()), v.Word("story.dry", r.GetNeeds()), t.at(r.GetReady()))
}

func closing(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	w := e.GetRecoatWindowClosing()
	return v.T("story.window", t.stage(w.GetStageId(), ""), t.part(w.GetPartId()), t.at(w.GetWindowCloses()))
}

func felt(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	o := e.GetDryingObserved()
	milestone := v.Word("story.milestone", strings.ReplaceAll(o.GetMilestone(), " ", "_"))
	s := v.T("story.felt", t.part(o.GetPartId()), t.stage(o.GetStageId(), ""))
	if o.GetNotYet() != nil {
		s += v.T("story.felt.not.yet", milestone, t.at(o.NotYet))
	}
	if o.GetReached() != nil {
		s += v.T("story.felt.reached", milestone, t.at(o.Reached))
	}
	return s
}
