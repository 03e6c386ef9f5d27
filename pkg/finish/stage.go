package finish

import (
	"fmt"
	"time"

	"tackfree/pkg/dimension"
)

// Needs is what a stage needs of the film that lies below it.
type Needs string

// The needs, each with all that come before it.
const (
	NeedsNothing Needs = ""
	NeedsSand    Needs = "sand"   // dry enough to be dulled or sanded
	NeedsRecoat  Needs = "recoat" // dry enough for another coat
	NeedsCured   Needs = "cured"
)

// Stage is a step of a part, or of the whole piece, in its order.
type Stage struct {
	Part     string // label; empty: of the whole piece
	Key      string // unique in the part
	Step     Step
	Skill    string
	Station  string // booth, bench, rack or outdoors, by what is usual; empty: anywhere
	Attended time.Duration
	Hazards  []Hazard
	Needs    Needs
	Latest   time.Duration // the coat on it must begin before this long after it, or scuff first; 0: no end
	Litres   float64       // of the product as sold; 0: not known, or none
	After    []int         // indices of the stages that come before it
}

// Title is what people call the stage: topcoat (top), or hardware-off of the whole piece.
func (s Stage) Title() string {
	if s.Part == "" {
		return s.Key
	}
	return fmt.Sprintf("%s (%s)", s.Key, s.Part)
}

// stage is a step as work on a part as it stands.
func (p Part) stage(st Step, on *surface) (Stage, error) {
	attended, err := st.Attended(p.AreaM2)
	if err != nil {
		return Stage{}, err
	}
	s := Stage{Part: p.Label, Key: key(st), Step: st, Skill: st.Skill(), Station: st.Station(), Attended: attended, Hazards: st.hazards(on)}
	if layers[st.Kind] {
		s.Litres, err = st.Product.litres(p.AreaM2)
	}
	return s, err
}

// Amount is what stages take of a product together.
type Amount struct {
	Product Product
	Litres  float64 // as sold; 0: not known
	Stages  int     // how many take it
}

// Amounts sums what the stages take, by the products' IDs, or by their names where they
// have none; in the order in which they are first used. A stage of which nothing is known
// is counted with 0 L.
func Amounts(stages []Stage) []Amount {
	var all []Amount
	at := map[[2]string]int{}
	for _, s := range stages {
		p := s.Step.Product
		name := [2]string{p.ID, ""}
		if p.ID == "" {
			name[1] = p.Name
		}
		if name == [2]string{} {
			continue
		}
		i, there := at[name]
		if !there {
			i = len(all)
			at[name] = i
			all = append(all, Amount{Product: p})
		}
		all[i].Litres += s.Litres
		all[i].Stages++
	}
	return all
}

// checkArea refuses an area that no part has.
func checkArea(m2 float64) error { return dimension.Within("area", m2, 0, 100, "m²") }
