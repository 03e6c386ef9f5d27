package timeline

import (
	"fmt"

	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func partTested(t Teller, e *eventsv1.Envelope) Told {
	p := e.GetPartTested()
	s := fmt.Sprintf("%s was tested for %s: %s", t.part(p.PartId), tested(p.Kind), p.Result)
	if p.Controls != "" {
		s += fmt.Sprintf("; %s answers for these controls: %s", p.PersonName, p.Controls)
	}
	return Told{Text: sentence("%s", s)}
}

// tested is what a test is for.
func tested(kind string) string {
	if kind == "spot" {
		return "its old finish"
	}
	return kind
}

// readyFor is what comes next once it is dry enough, by what the next stage waits for.
func readyFor(needs string) string {
	switch needs {
	case "sand":
		return "dry enough to sand"
	case "recoat":
		return "dry enough for the next coat"
	case "cured":
		return "cured"
	}
	return "dry"
}

func forecastChanged(t Teller, e *eventsv1.Envelope) Told {
	f := e.GetPartDryForecastChanged()
	s := fmt.Sprintf("after %s, %s will likely be %s", t.stage(f.StageId, ""), t.part(f.PartId), readyFor(f.Needs))
	if f.Ready == nil {
		return Told{Stage: f.StageId, Text: sentence("after %s, %s will never be %s in the air where it stands", t.stage(f.StageId, ""), t.part(f.PartId), readyFor(f.Needs))}
	}
	s += " on " + t.at(f.Ready)
	if f.WindowCloses != nil {
		s += ", and must be coated or scuffed by " + t.at(f.WindowCloses)
	}
	return Told{Stage: f.StageId, Text: sentence("%s", s)}
}

func partReady(t Teller, e *eventsv1.Envelope) Told {
	r := e.GetPartReady()
	return Told{Stage: r.StageId, Text: sentence("after %s, %s was %s, by what is known, on %s", t.stage(r.StageId, ""), t.part(r.PartId), readyFor(r.Needs), t.at(r.Ready))}
}

func windowClosing(t Teller, e *eventsv1.Envelope) Told {
	w := e.GetRecoatWindowClosing()
	return Told{Stage: w.StageId, Text: sentence("what %s left on %s must be coated by %s, or scuffed first", t.stage(w.StageId, ""), t.part(w.PartId), t.at(w.WindowCloses))}
}

func dryingObserved(t Teller, e *eventsv1.Envelope) Told {
	o := e.GetDryingObserved()
	s := fmt.Sprintf("somebody felt %s after %s", t.part(o.PartId), t.stage(o.StageId, ""))
	if o.NotYet != nil {
		s += fmt.Sprintf("; not yet %s on %s", o.Milestone, t.at(o.NotYet))
	}
	if o.Reached != nil {
		s += fmt.Sprintf("; %s on %s", o.Milestone, t.at(o.Reached))
	}
	return Told{Stage: o.StageId, Text: sentence("%s", s)}
}
