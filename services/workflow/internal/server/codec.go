package server

import (
	"slices"
	"strings"
	"time"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

var stageStates = map[workflow.State]workflowv1.Stage_State{
	workflow.Waiting: workflowv1.Stage_STATE_WAITING, workflow.Drying: workflowv1.Stage_STATE_DRYING,
	workflow.Ready: workflowv1.Stage_STATE_READY, workflow.InWork: workflowv1.Stage_STATE_IN_WORK,
	workflow.Done: workflowv1.Stage_STATE_FINISHED, workflow.Away: workflowv1.Stage_STATE_AWAY,
}

var dryStates = map[finish.Needs]workflowv1.DryState{
	finish.NeedsSand: workflowv1.DryState_DRY_STATE_SAND, finish.NeedsRecoat: workflowv1.DryState_DRY_STATE_RECOAT, finish.NeedsCured: workflowv1.DryState_DRY_STATE_CURED,
}

func encodeCautions(ids []string) []*workflowv1.Caution {
	var out []*workflowv1.Caution
	for _, i := range ids {
		if h, known := finish.FindHazard(i); known {
			out = append(out, &workflowv1.Caution{Id: h.ID, Text: h.Text})
		}
	}
	return out
}

func encodeStages(p workflow.Plan, now time.Time) []*workflowv1.Stage {
	out := make([]*workflowv1.Stage, len(p.Stages))
	for i, s := range p.Stages {
		out[i] = encodeStage(&p, s, now)
	}
	return out
}

func encodeStage(p *workflow.Plan, s workflow.Stage, now time.Time) *workflowv1.Stage {
	state, wait := p.State(s, now)
	out := &workflowv1.Stage{
		Name: id.Name("pieces", s.Piece, "stages", s.ID), Key: s.Key, Kind: s.Kind, PartLabel: s.PartLabel,
		State: stageStates[state], AssigneeName: s.AssignedTo, Pass: s.Pass(), Skill: s.Skill, SkillLevel: s.SkillLevel, OnTheClock: p.OnIt[s.ID],
		AttendedMinutes: toMinutes(s.Attended), UnattendedMinutes: toMinutes(s.Unattended),
		FinishTime: wire.ToInstant(s.FinishedAt), WindowCloseTime: wire.ToInstant(wait.Closes),
		Grit: s.Grit, ProductName: s.ProductName, Station: s.Station, Cautions: encodeCautions(s.Cautions), Why: s.Why, Needs: dryStates[s.Needs],
	}
	if !wait.Over(now) {
		out.ReadyTime, out.ReadyTimeEarly, out.ReadyTimeLate = wire.ToInstant(wait.Until.Likely), wire.ToInstant(wait.Until.Early), wire.ToInstant(wait.Until.Late)
	}
	if s.Product != id.Nil {
		out.Product = id.Name("products", s.Product)
	}
	for _, back := range s.SentBack {
		out.SendBackTimes = append(out.SendBackTimes, wire.ToInstant(back))
	}
	if s.Part != id.Nil {
		out.Part = id.Name("pieces", s.Piece, "parts", s.Part)
	}
	if s.Assignee != id.Nil {
		out.Assignee = id.Name("people", s.Assignee)
	}
	for _, h := range s.Helpers {
		out.Helpers, out.HelperNames = append(out.Helpers, id.Name("people", h.ID)), append(out.HelperNames, h.Name)
	}
	if s.Batch != id.Nil {
		out.Batch = id.Name("batches", s.Batch)
	}
	for _, before := range s.After {
		out.After = append(out.After, id.Name("pieces", s.Piece, "stages", before))
	}
	return out
}

func stagesPlanned(stages []workflow.Stage) *eventsv1.StagesPlanned {
	e := &eventsv1.StagesPlanned{}
	for _, s := range stages {
		planned := &eventsv1.StagesPlanned_Stage{StageId: s.ID.String(), Kind: s.Kind, Key: s.Key, PartLabel: s.PartLabel,
			Amount: encodeAmount(s.Amount), Method: s.Method, AttendedMinutes: toMinutes(s.Attended), UnattendedMinutes: toMinutes(s.Unattended)}
		if s.Part != id.Nil {
			planned.PartId = s.Part.String()
		}
		if s.Product != id.Nil {
			planned.ProductId = s.Product.String()
		}
		for _, before := range s.After {
			planned.AfterStageIds = append(planned.AfterStageIds, before.String())
		}
		e.Stages = append(e.Stages, planned)
	}
	return e
}

// routePlanned tells of stages and which routes they are of.
func routePlanned(stages []workflow.Stage, routes []partRoute) *eventsv1.StagesPlanned {
	e := stagesPlanned(stages)
	var words []string
	for _, r := range routes {
		words = append(words, r.word)
	}
	e.Route = eachOnce(words)
	return e
}

// eachOnce lists words by their letters, each once.
func eachOnce(words []string) string {
	return strings.Join(slices.Compact(slices.Sorted(slices.Values(words))), ", ")
}

func stageAssigned(s workflow.Stage) *eventsv1.StageAssigned {
	e := &eventsv1.StageAssigned{StageId: s.ID.String(), Kind: s.Kind, PersonName: s.AssignedTo}
	if s.Assignee != id.Nil {
		e.PersonId = s.Assignee.String()
	}
	for _, h := range s.Helpers {
		e.HelperIds, e.HelperNames = append(e.HelperIds, h.ID.String()), append(e.HelperNames, h.Name)
	}
	return e
}

func stageFinished(s workflow.Stage, override string) *eventsv1.StageFinished {
	return &eventsv1.StageFinished{StageId: s.ID.String(), Kind: s.Kind, Pass: s.Pass(), OverrideReason: override}
}

func stageSentBack(stage id.ID, reason string, reopened []*workflow.Stage) *eventsv1.StageSentBack {
	e := &eventsv1.StageSentBack{StageId: stage.String(), Reason: reason}
	for _, s := range reopened {
		e.Reopened = append(e.Reopened, &eventsv1.StageSentBack_Reopened{StageId: s.ID.String(), Kind: s.Kind, Pass: s.Pass()})
	}
	return e
}
