package workflow

import (
	"slices"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Finish is what a stage has to do with films and with what lies below them. Of a stage
// from a route it is what its kind alone tells.
type Finish struct {
	Grit        string
	Product     id.ID // id.Nil: none
	ProductName string
	Station     string
	Needs       finish.Needs  // of the films below; wet wood and glue it always waits for
	Latest      time.Duration // until which what comes next bonds without scuffing; 0: for ever
	Cautions    []string      // ids, see finish.Hazard
	DisturbsOld bool          // it sands, scrapes or strips what may be an old coating with lead
	Why         string
	Zone        id.ID    // where it dries; id.Nil: nobody said
	Coating     *Coating // of a product that leaves a film; nil: none is known
	WetFilmUm   float64  // as it is to be laid; 0: as the maker says
	AreaM2      float64  // 0: nobody said
}

// Coating is how a product dries, and in what air it may be put on.
type Coating struct {
	Dries  drying.Product
	Limits climate.Limits
}

// presumed is a part of which nobody said anything: it may be wood under paint with lead.
var presumed = finish.Assessment{Material: finish.SolidWood, OldFinish: finish.OilVarnish}

// presume says what stages of routes may do to an old coating, and what is to be read
// before they start. An old coating is presumed, and it is gone once the part was
// stripped, or out of reach once one of our coats lies over it.
func presume(stages []Stage) {
	gone := map[id.ID]bool{}
	for i := range stages {
		s := &stages[i]
		kind := finish.Kind(s.Kind)
		untouched := !gone[s.Part] && !gone[id.Nil]
		s.DisturbsOld = untouched && disturbs(kind)
		part := presumed
		if !untouched {
			part.OldFinish = ""
		}
		for _, h := range (finish.Step{Kind: kind}).Hazards(part) {
			s.Cautions = append(s.Cautions, h.ID)
		}
		gone[s.Part] = gone[s.Part] || kind == finish.Strip || kind.LeavesFilm()
	}
}

// disturbs reports a kind of stage that makes dust or debris of what it works on.
func disturbs(k finish.Kind) bool {
	return slices.Contains([]finish.Kind{finish.Sand, finish.ScuffSand, finish.Strip, "scrape"}, k)
}
