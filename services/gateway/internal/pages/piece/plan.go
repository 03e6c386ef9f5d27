package piece

import (
	"strings"
	"time"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/pages/piece/lanes"
	"tackfree/services/gateway/internal/words"
)

// planView is the stages over time, and the same as a table.
type planView struct {
	Chart lanes.Chart
	Rows  []planRow
	Left  time.Duration // hands that are still needed, by the plan
	End   time.Time     // when all could be done and dry at the earliest; zero: nothing is open
	Plan  *workflowv1.FinishPlan
	// Of a piece that is gone: how, and which stages nobody finished. Nothing is to come then: neither Left nor End.
	Gone string
	Open string
}

// planRow is a stage in the table.
type planRow struct {
	*workflowv1.Stage
	Number int
	Worked time.Duration // of what counts, all passes
	Begins time.Time     // of one that is open and has hands to come: the earliest
	Dry    time.Time     // when what it leaves is ready; zero: it leaves nothing wet
	ByPlan bool          // that is by the plan's minutes and not by a dry clock
	State  string        // the look of its state
}

var stageStates = map[workflowv1.Stage_State]string{
	workflowv1.Stage_STATE_WAITING: "wait", workflowv1.Stage_STATE_DRYING: "dry", workflowv1.Stage_STATE_READY: "ready",
	workflowv1.Stage_STATE_IN_WORK: "work", workflowv1.Stage_STATE_FINISHED: "done", workflowv1.Stage_STATE_AWAY: "wait",
}

func planOf(f floorFacts, now time.Time, voice *words.Voice) planView {
	rows, v := lanes.Lay(laneStages(f, voice), now), planView{Plan: f.plan, Gone: f.gone.Word}
	if v.Gone == "" {
		v.Left, v.End = lanes.Left(rows), lanes.End(rows)
	} else {
		rows, v.Open = lanes.Past(laneStages(f, voice), now), unfinished(f.stages, voice)
	}
	v.Chart = lanes.Draw(rows, now, voice.Zone)
	for i, r := range rows {
		v.Rows = append(v.Rows, tableRow(i+1, f.stages[i], r))
	}
	return v
}

// unfinished names the stages that nobody finished.
func unfinished(stages []*workflowv1.Stage, voice *words.Voice) string {
	var open []string
	for _, s := range stages {
		if s.State == workflowv1.Stage_STATE_FINISHED {
			continue
		}
		title := voice.Stage(s.Kind, s.Key)
		if s.PartLabel != "" {
			title += " (" + s.PartLabel + ")"
		}
		open = append(open, title)
	}
	return strings.Join(open, ", ")
}

func tableRow(number int, s *workflowv1.Stage, r lanes.Row) planRow {
	out := planRow{Stage: s, Number: number, State: stageStates[s.State], ByPlan: r.Dry.IsZero()}
	for _, b := range r.Bars {
		switch b.Kind {
		case lanes.Worked, lanes.Working:
			out.Worked += b.To.Sub(b.From)
		case lanes.ToWork:
			out.Begins = b.From
		case lanes.Dries, lanes.ToDry:
			out.Dry = b.To
		}
	}
	return out
}

// laneStages are the stages as the time line takes them.
func laneStages(f floorFacts, voice *words.Voice) (out []lanes.Stage) {
	for _, s := range f.stages {
		l := lanes.Stage{Name: s.Name, Key: voice.StageTitle(s.Kind, s.Key), Part: s.PartLabel, After: s.After, Worked: spansOf(f.entries, s.Name),
			Attended: time.Duration(s.AttendedMinutes) * time.Minute, Unattended: time.Duration(s.UnattendedMinutes) * time.Minute}
		if s.FinishTime != nil && s.State == workflowv1.Stage_STATE_FINISHED {
			l.Finished = s.FinishTime.AsTime()
		}
		if s.ReadyTime != nil {
			l.NotBefore = s.ReadyTime.AsTime()
		}
		for _, d := range f.dry {
			if at := d.GetReady().GetLikelyTime(); d.Stage == s.Name && at != nil {
				l.Dry = at.AsTime()
			}
		}
		out = append(out, l)
	}
	return out
}

// spansOf are the stretches of a stage that count.
func spansOf(entries []*workflowv1.ClockEntry, stage string) (out []lanes.Span) {
	for _, e := range entries {
		if e.Stage != stage || e.Superseded {
			continue
		}
		s := lanes.Span{From: e.StartTime.AsTime()}
		if e.EndTime != nil {
			s.To = e.EndTime.AsTime()
		}
		out = append(out, s)
	}
	return out
}
