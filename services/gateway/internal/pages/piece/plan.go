package piece

import (
	"time"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/pages/piece/lanes"
)

// planView is the stages over time, and the same as a table.
type planView struct {
	Chart lanes.Chart
	Rows  []planRow
	Left  time.Duration // hands that are still needed, by the plan
	End   time.Time     // when all could be done and dry at the earliest; zero: nothing is open
	Plan  *workflowv1.FinishPlan
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

func planOf(f floorFacts, now time.Time, zone *time.Location) planView {
	rows := lanes.Lay(laneStages(f), now)
	v := planView{Chart: lanes.Draw(rows, now, zone), Left: lanes.Left(rows), End: lanes.End(rows), Plan: f.plan}
	for i, r := range rows {
		v.Rows = append(v.Rows, tableRow(i+1, f.stages[i], r))
	}
	return v
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
func laneStages(f floorFacts) (out []lanes.Stage) {
	for _, s := range f.stages {
		l := lanes.Stage{Name: s.Name, Key: s.Key, Part: s.PartLabel, After: s.After, Worked: spansOf(f.entries, s.Name),
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
