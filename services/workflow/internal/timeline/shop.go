package timeline

import (
	"fmt"
	"time"

	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func personAdded(_ Teller, e *eventsv1.Envelope) Told {
	p := e.GetPersonAdded()
	return Told{Text: sentence("%s was added to the people%s", p.DisplayName, skilled(p.Skills))}
}

func personChanged(_ Teller, e *eventsv1.Envelope) Told {
	p := e.GetPersonChanged()
	return Told{Text: sentence("%s was written down anew%s", p.DisplayName, skilled(p.Skills))}
}

// skilled is what somebody can do; of somebody without skills nothing is said.
func skilled(skills []string) string {
	if len(skills) == 0 {
		return ""
	}
	return ", who can " + words(list(skills))
}

func routeSaved(_ Teller, e *eventsv1.Envelope) Told {
	r := e.GetRouteSaved()
	return Told{Text: sentence("the route %s was written: %s", r.Word, list(r.StepKeys))}
}

func stationSaved(_ Teller, e *eventsv1.Envelope) Told {
	s := e.GetStationSaved()
	if s.Retired {
		return Told{Text: sentence("the station %s is used no more", s.Word)}
	}
	return Told{Text: sentence("the station %s was written: %s, for %d %s", s.Word, s.DisplayName, s.Capacity, s.Unit)}
}

func batchFormed(_ Teller, e *eventsv1.Envelope) Told {
	b := e.GetBatchFormed()
	return Told{Text: sentence("the batch %s was formed of %s", b.DisplayName, stages(len(b.Shares)))}
}

func stageLeftBatch(t Teller, e *eventsv1.Envelope) Told {
	l := e.GetStageLeftBatch()
	return Told{Stage: l.StageId, Text: sentence("%s was taken out of %s", t.stage(l.StageId, ""), t.batch(l.BatchId))}
}

func batchEnded(t Teller, e *eventsv1.Envelope) Told {
	b := e.GetBatchEnded()
	if b.Finished {
		return Told{Text: sentence("%s was finished", t.batch(b.BatchId))}
	}
	return Told{Text: sentence("%s is no more; its stages go on one by one", t.batch(b.BatchId))}
}

func dayPlanned(_ Teller, e *eventsv1.Envelope) Told {
	d := e.GetDayPlanned()
	until, err := time.Parse(time.DateOnly, d.LastDate)
	if err != nil {
		return Told{Text: sentence("a plan was published")}
	}
	s := fmt.Sprintf("a plan was published: what begins by %s is given to people", until.Format("Mon 2 Jan 2006"))
	if d.AssignedStages > 0 {
		s += fmt.Sprintf(", %s to somebody new", stages(int(d.AssignedStages)))
	}
	if d.FreedStages > 0 {
		s += fmt.Sprintf(", %s back to nobody", stages(int(d.FreedStages)))
	}
	return Told{Text: sentence("%s", s)}
}
