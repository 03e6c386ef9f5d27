package piece

import (
	"slices"
	"time"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// clockView is who worked on the piece, and when.
type clockView struct {
	All     bool // of everybody; else of the reader alone
	Entries []entryRow
	Sum     time.Duration // of what counts; what runs until now
	Rework  time.Duration // of that, later passes
}

// entryRow is a clock entry with what people call its stage.
type entryRow struct {
	*workflowv1.ClockEntry
	Stage   *workflowv1.Stage // nil: it is not told
	Took    time.Duration
	Running bool
}

func clockOf(f floorFacts, now time.Time, everybody bool) clockView {
	v := clockView{All: everybody}
	for _, e := range f.entries {
		r := entryRow{ClockEntry: e, Stage: stageNamed(f.stages, e.Stage), Running: e.EndTime == nil && !e.Superseded}
		end := now
		if e.EndTime != nil {
			end = e.EndTime.AsTime()
		}
		r.Took = max(end.Sub(e.StartTime.AsTime()), 0)
		if !e.Superseded {
			v.Sum += r.Took
			if e.Pass > 1 {
				v.Rework += r.Took
			}
		}
		v.Entries = append(v.Entries, r)
	}
	return v
}

func stageNamed(stages []*workflowv1.Stage, name string) *workflowv1.Stage {
	if i := slices.IndexFunc(stages, func(s *workflowv1.Stage) bool { return s.Name == name }); i >= 0 {
		return stages[i]
	}
	return nil
}
