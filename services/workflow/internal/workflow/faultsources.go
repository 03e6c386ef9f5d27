package workflow

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// FaultsBy is by what come-backs are told apart.
type FaultsBy string

// The ways to tell them apart.
const (
	FaultsByProduct FaultsBy = "product"
	FaultsByLot     FaultsBy = "lot"
	FaultsByKind    FaultsBy = "stage_kind"
	FaultsByWorker  FaultsBy = "worker"
	FaultsByClimate FaultsBy = "climate"
	FaultsByFault   FaultsBy = "fault"  // every piece could have it
	FaultsBySource  FaultsBy = "source" // as judged; likewise
)

// SoldPiece is a piece that was sold, with what was done on it before.
type SoldPiece struct {
	Piece  id.ID
	Stages []Stage // finished, none that mends
	Witness
}

// FaultSource is how often what had something came back.
type FaultSource struct {
	Key, Title string
	Comebacks  []Comeback
	PiecesBack int
	Exposed    int // at least PiecesBack
	Low, High  float64
	Rework     time.Duration
}

// fewPieces are so few that a rate says little. Common practice.
const fewPieces = 20

// Few reports that.
func (f FaultSource) Few() bool { return f.Exposed < fewPieces }

// Rate is the part of the exposed that came back.
func (f FaultSource) Rate() float64 { return float64(f.PiecesBack) / float64(f.Exposed) }

// had is something that a piece had.
type had struct{ key, title string }

// FaultSources counts what came back of sold pieces by what these had; the highest rate first.
func FaultSources(by FaultsBy, sold []SoldPiece, comebacks []Comeback) ([]FaultSource, error) {
	back := map[id.ID][]Comeback{}
	for _, c := range comebacks {
		back[c.Piece] = append(back[c.Piece], c)
	}
	lines := map[string]*FaultSource{}
	for _, p := range sold {
		things, err := p.had(by)
		if err != nil {
			return nil, err
		}
		for _, h := range things {
			line(lines, h).count(back[p.Piece])
		}
		if by == FaultsByFault || by == FaultsBySource {
			countFound(lines, by, back[p.Piece])
		}
	}
	out := make([]FaultSource, 0, len(lines))
	for _, l := range lines {
		if by == FaultsByFault || by == FaultsBySource {
			l.Exposed = len(sold)
		}
		l.Low, l.High = Wilson(l.PiecesBack, l.Exposed)
		out = append(out, *l)
	}
	slices.SortFunc(out, func(a, b FaultSource) int {
		return cmp.Or(cmp.Compare(b.Rate(), a.Rate()), cmp.Compare(b.Exposed, a.Exposed), cmp.Compare(a.Title, b.Title), cmp.Compare(a.Key, b.Key))
	})
	return out, nil
}

func line(lines map[string]*FaultSource, h had) *FaultSource {
	if lines[h.key] == nil {
		lines[h.key] = &FaultSource{Key: h.key, Title: h.title}
	}
	return lines[h.key]
}

// count adds a piece that had it, with what came back of it.
func (f *FaultSource) count(back []Comeback) {
	f.Exposed++
	f.found(back)
}

func (f *FaultSource) found(back []Comeback) {
	if len(back) == 0 {
		return
	}
	f.PiecesBack++
	f.Comebacks = append(f.Comebacks, back...)
	for _, c := range back {
		f.Rework += c.Rework
	}
}

// countFound adds the come-backs of one piece to the kinds of fault, or sources, that they were of.
func countFound(lines map[string]*FaultSource, by FaultsBy, back []Comeback) {
	of := map[string][]Comeback{}
	for _, c := range back {
		for _, key := range c.found(by) {
			of[key] = append(of[key], c)
		}
	}
	for key, all := range of {
		line(lines, had{key, key}).found(all)
	}
}

// found are the kinds of fault that a come-back had, or the source as it was judged, each once.
func (c Comeback) found(by FaultsBy) (keys []string) {
	if by == FaultsBySource {
		if c.Judgement == nil {
			return []string{""}
		}
		return []string{string(c.Judgement.Source)}
	}
	for _, d := range c.Faults {
		if !slices.Contains(keys, d.Kind) {
			keys = append(keys, d.Kind)
		}
	}
	return keys
}

// had are the things of a kind that a piece had, each once.
func (p SoldPiece) had(by FaultsBy) (out []had, err error) {
	seen := map[string]bool{}
	add := func(key, title string) {
		if !seen[key] {
			seen[key] = true
			out = append(out, had{key, title})
		}
	}
	for _, s := range p.Stages {
		switch by {
		case FaultsByProduct:
			if s.Product != id.Nil {
				add(id.Name("products", s.Product), s.ProductName)
			}
		case FaultsByKind:
			add(s.Kind, s.Kind)
		case FaultsByWorker:
			for _, h := range p.Hands[s.ID] {
				add(id.Name("people", h.Person), h.Name)
			}
		case FaultsByLot:
			for _, lot := range p.Lots[s.ID] {
				add(lot, s.ProductName)
			}
		case FaultsByClimate:
			if !finish.Kind(s.Kind).LeavesFilm() {
				continue
			}
			verdict, _, err := p.airAt(s)
			if err != nil {
				return nil, err
			}
			add(string(verdict), string(verdict))
		}
	}
	return out, nil
}
