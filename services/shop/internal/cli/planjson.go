package cli

import (
	"tackfree/pkg/finish"
)

// planned is the plan as a script reads it.
type planned struct {
	Piece   string          `json:"piece"`
	Stages  []plannedStage  `json:"stages"`
	Amounts []plannedAmount `json:"amounts"`
	// What is worth knowing: rules that the plan breaks without being refused for it.
	Findings []plannedFinding `json:"findings"`
}

type plannedFinding struct {
	Stage    int    `json:"stage"` // index
	Title    string `json:"title"`
	Rule     string `json:"rule"`
	Severity string `json:"severity"` // note or caution
	Says     string `json:"says"`
	Why      string `json:"why"`
	Instead  string `json:"instead"`
}

type plannedStage struct {
	Part     string   `json:"part"`
	Key      string   `json:"key"`
	Kind     string   `json:"kind"`
	Grit     string   `json:"grit"`
	Product  string   `json:"product"`
	Skill    string   `json:"skill"`
	Station  string   `json:"station"`
	Needs    string   `json:"needs"` // sand, recoat or cured, of the film below
	Attended float64  `json:"attended_minutes"`
	Wait     float64  `json:"wait_minutes"`
	Latest   float64  `json:"latest_minutes"` // the coat on it begins before then; 0: no end
	Litres   float64  `json:"litres"`         // as sold; 0: not known, or none
	After    []int    `json:"after"`
	Cautions []string `json:"cautions"`
	Why      string   `json:"why"`
}

type plannedAmount struct {
	ID      string  `json:"id"`
	Product string  `json:"product"`
	Litres  float64 `json:"litres"` // as sold; 0: not known
	Coats   int     `json:"coats"`
}

func plannedStages(stages []finish.Stage) []plannedStage {
	out := make([]plannedStage, len(stages))
	for i, s := range stages {
		p := plannedStage{Part: s.Part, Key: s.Key, Kind: string(s.Step.Kind), Product: s.Step.Product.Name, Skill: s.Skill, Station: s.Station, Needs: string(s.Needs),
			Attended: s.Attended.Minutes(), Wait: s.Step.Wait.Minutes(), Latest: s.Latest.Minutes(), Litres: s.Litres, After: append([]int{}, s.After...), Cautions: []string{}, Why: s.Step.Why}
		if s.Step.Grit != (finish.Grit{}) {
			p.Grit = s.Step.Grit.String()
		}
		for _, h := range s.Hazards {
			p.Cautions = append(p.Cautions, h.ID)
		}
		out[i] = p
	}
	return out
}

func plannedAmounts(stages []finish.Stage) []plannedAmount {
	out := []plannedAmount{}
	for _, a := range finish.Amounts(stages) {
		out = append(out, plannedAmount{a.Product.ID, a.Product.Name, a.Litres, a.Stages})
	}
	return out
}

func plannedFindings(stages []finish.Stage, findings []finish.PieceFinding) []plannedFinding {
	out := []plannedFinding{}
	for _, f := range findings {
		r := f.Rule
		out = append(out, plannedFinding{f.Stage, stages[f.Stage].Title(), r.ID, string(r.Severity), r.Says, r.Why, r.Instead})
	}
	return out
}
