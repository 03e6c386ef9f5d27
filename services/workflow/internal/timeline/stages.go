package timeline

import (
	"fmt"
	"strings"

	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func stagesPlanned(_ Teller, e *eventsv1.Envelope) Told {
	return Told{Text: sentence("the work was laid out in %s", stages(len(e.GetStagesPlanned().GetStages())))}
}

func planApproved(_ Teller, e *eventsv1.Envelope) Told {
	p := e.GetFinishPlanApproved()
	return Told{Text: sentence("finish plan %d was approved, with %s%s", p.PlanVersion, stages(len(p.Stages)), answering(p.Overrides))}
}

func planAmended(_ Teller, e *eventsv1.Envelope) Told {
	p := e.GetFinishPlanAmended()
	return Told{Text: sentence("finish plan %d came in place of the one before, with %s more and %s less%s%s",
		p.PlanVersion, stages(len(p.Added)), stages(len(p.DroppedStageIds)), answering(p.Overrides), because(p.Reason))}
}

// answering is who answers for breaking which rules.
func answering(overrides []*eventsv1.RuleOverride) string {
	s := ""
	for _, o := range overrides {
		s += fmt.Sprintf("; %s answers for breaking the rule %s", o.PersonName, o.Rule)
	}
	return s
}

func stageAssigned(t Teller, e *eventsv1.Envelope) Told {
	a := e.GetStageAssigned()
	title, by := t.stage(a.StageId, a.Kind), ""
	if a.Planned {
		by = " by the plan that was published"
	}
	switch {
	case a.PersonId == "":
		return Told{Stage: a.StageId, Text: sentence("%s is nobody's again", title)}
	case len(a.HelperNames) > 0:
		return Told{Stage: a.StageId, Text: sentence("%s was given to %s, with %s%s", title, a.PersonName, list(a.HelperNames), by)}
	}
	return Told{Stage: a.StageId, Text: sentence("%s was given to %s%s", title, a.PersonName, by)}
}

func stageHandedOver(t Teller, e *eventsv1.Envelope) Told {
	h := e.GetStageHandedOver()
	return Told{Stage: h.StageId, Text: sentence("%s went from %s to %s%s", t.stage(h.StageId, h.Kind), h.FromPersonName, h.ToPersonName, because(h.Note))}
}

func stageFinished(t Teller, e *eventsv1.Envelope) Told {
	f := e.GetStageFinished()
	s := fmt.Sprintf("%s was finished%s", t.stage(f.StageId, f.Kind), again(f.Pass))
	if f.OverrideReason != "" {
		s += ", although not all was ready for it" + because(f.OverrideReason)
	}
	return Told{Stage: f.StageId, Text: sentence("%s", s)}
}

// again says that something is rework.
func again(pass int32) string {
	if pass < 2 {
		return ""
	}
	return fmt.Sprintf(" for the %s time", nth(pass))
}

func nth(n int32) string {
	switch {
	case n%100 >= 11 && n%100 <= 13:
	case n%10 == 1:
		return fmt.Sprintf("%dst", n)
	case n%10 == 2:
		return fmt.Sprintf("%dnd", n)
	case n%10 == 3:
		return fmt.Sprintf("%drd", n)
	}
	return fmt.Sprintf("%dth", n)
}

func stageSentBack(t Teller, e *eventsv1.Envelope) Told {
	b := e.GetStageSentBack()
	kind, others := "", []string{}
	for _, r := range b.Reopened {
		if r.StageId == b.StageId {
			kind = r.Kind
			continue
		}
		others = append(others, t.stage(r.StageId, r.Kind))
	}
	s := t.stage(b.StageId, kind) + " was sent back" + because(b.Reason)
	if len(others) > 0 {
		s += "; to be done again as well: " + list(others)
	}
	return Told{Stage: b.StageId, Text: sentence("%s", s)}
}

func stageInspected(t Teller, e *eventsv1.Envelope) Told {
	i := e.GetStageInspected()
	s := fmt.Sprintf("%s looked at %s (%s) and ", i.InspectorName, t.stage(i.StageId, ""), words(i.Point))
	if i.Passed {
		return Told{Stage: i.StageId, Text: sentence("%spassed it%s%s", s, t.defects(", letting be ", i.Defects), because(i.Note))}
	}
	s += "did not pass it" + t.defects(": ", i.Defects)
	if i.BackToStageId != "" {
		s += fmt.Sprintf("; %s has to be done again", t.stage(i.BackToStageId, ""))
	}
	if i.Note != "" {
		s += ". " + i.Note
	}
	return Told{Stage: i.StageId, Text: sentence("%s", s)}
}

func stagePinned(t Teller, e *eventsv1.Envelope) Told {
	p := e.GetStagePinned()
	s := "the plan keeps " + t.stage(p.StageId, p.Kind)
	if p.PersonName != "" {
		s += " with " + p.PersonName
	}
	if p.StartTime != nil {
		s += ", from " + t.at(p.StartTime) + " on"
	}
	return Told{Stage: p.StageId, Text: sentence("%s", s)}
}

func stageUnpinned(t Teller, e *eventsv1.Envelope) Told {
	u := e.GetStageUnpinned()
	return Told{Stage: u.StageId, Text: sentence("the plan puts %s where it fits again", t.stage(u.StageId, u.Kind))}
}

// defects are what was found, with where its photos are and what was said of it; of none nothing
// is said.
func (t Teller) defects(behind string, found []*eventsv1.StageInspected_Defect) string {
	if len(found) == 0 {
		return ""
	}
	all := make([]string, len(found))
	for i, d := range found {
		all[i] = fmt.Sprintf("%s on %s", words(d.Kind), t.part(d.PartId))
		said := []string{}
		if d.Photo != "" {
			said = append(said, "photo "+d.Photo)
		}
		if d.Note != "" {
			said = append(said, d.Note)
		}
		if len(said) > 0 {
			all[i] += " (" + strings.Join(said, "; ") + ")"
		}
	}
	return behind + list(all)
}

func workStopped(_ Teller, e *eventsv1.Envelope) Told {
	return Told{Text: sentence("It was given up%s; no more work is done on it", because(e.GetWorkStopped().Reason))}
}

func leftFloor(_ Teller, e *eventsv1.Envelope) Told {
	if open := e.GetPieceLeftFloor().OpenStages; open > 0 {
		return Told{Text: sentence("It was sold or invoiced, and left the floor with %s to do", stages(int(open)))}
	}
	return Told{Text: sentence("It was sold or invoiced before anybody laid out its stages, and left the floor")}
}

func backOnFloor(_ Teller, e *eventsv1.Envelope) Told {
	if open := e.GetPieceBackOnFloor().OpenStages; open > 0 {
		return Told{Text: sentence("It came back, and with it %s that are left to do", stages(int(open)))}
	}
	return Told{Text: sentence("It came back, and nobody has laid out its stages")}
}
