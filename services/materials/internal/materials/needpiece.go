package materials

import (
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
)

// PlannedStage is a stage of a piece, as far as its needs follow from it.
type PlannedStage struct {
	ID         id.ID           `json:"id"`
	Title      string          `json:"title"`
	Kind       string          `json:"kind"`
	Product    id.ID           `json:"product"` // id.Nil: none, or what every shop mixes
	Method     string          `json:"method"`  // by its data sheet; empty: there is none
	Unit       string          `json:"unit"`    // a base unit; empty: the amount is not known
	Planned    decimal.Decimal `json:"planned"` // zero: not known
	Attended   time.Duration   `json:"attended"`
	Unattended time.Duration   `json:"unattended"`
	After      []id.ID         `json:"after"`
	Pass       int32           `json:"pass"`
	DoneAt     time.Time       `json:"done_at"` // in this pass; zero: it is not
}

// PieceNeeds is what a piece needs, and what of its work that follows from. Nothing in it depends
// on which of the producers was heard first: what happened to the work, or that the piece was given
// up or sold.
type PieceNeeds struct {
	Piece      id.ID
	PlannedAt  time.Time // zero: it was not yet
	PromisedAt time.Time // zero: to nobody
	Stopped    bool      // it was given up
	SoldAt     time.Time // when its last sale was written down, which may have come back; zero: it was not sold
	Stages     []PlannedStage
	Needs      map[NeedKey]Need
	touched    map[NeedKey]bool
}

// Touched are the needs that became otherwise since they were read.
func (p *PieceNeeds) Touched() (out []Need) {
	for key := range p.touched {
		out = append(out, p.Needs[key])
	}
	slices.SortFunc(out, func(a, b Need) int { return a.compare(b.NeedKey) })
	return out
}

func (k NeedKey) compare(o NeedKey) int {
	if c := slices.Compare(k.Stage[:], o.Stage[:]); c != 0 {
		return c
	}
	if c := slices.Compare(k.Product[:], o.Product[:]); c != 0 {
		return c
	}
	return int(k.Pass - o.Pass)
}

// Plan adds stages that were laid out.
func (p *PieceNeeds) Plan(stages []PlannedStage, at time.Time) {
	if p.PlannedAt.IsZero() {
		p.PlannedAt = at
	}
	for _, s := range stages {
		s.Pass = max(s.Pass, 1)
		if known := p.stage(s.ID); known != nil {
			p.change(known, s, at)
			continue
		}
		p.Stages = append(p.Stages, s)
		p.open(s, at)
	}
}

// Reorder says what a stage comes after now. Events from before more was told say no more.
func (p *PieceNeeds) Reorder(stage id.ID, after []id.ID) {
	if s := p.stage(stage); s != nil {
		s.After = after
	}
}

// change takes over what is planned otherwise of a stage that stays; what was used of it stays.
func (p *PieceNeeds) change(s *PlannedStage, to PlannedStage, at time.Time) {
	if s.Product != to.Product {
		p.close(s.key(), NeedDropped, time.Time{})
	}
	to.Pass, to.DoneAt = s.Pass, s.DoneAt
	*s = to
	if s.DoneAt.IsZero() {
		p.open(*s, at)
	}
}

// Drop takes stages out of the work.
func (p *PieceNeeds) Drop(stages []id.ID) {
	p.Stages = slices.DeleteFunc(p.Stages, func(s PlannedStage) bool {
		gone := slices.Contains(stages, s.ID)
		if gone && s.DoneAt.IsZero() {
			p.close(s.key(), NeedDropped, time.Time{})
		}
		return gone
	})
}

// Finish says that a stage was finished in a pass; it reports how its product was applied, where
// it took one.
func (p *PieceNeeds) Finish(stage id.ID, pass int32, at time.Time) (method string, took bool) {
	s := p.stage(stage)
	if s == nil {
		return "", false
	}
	s.Pass, s.DoneAt = pass, at
	p.close(s.key(), NeedDone, at)
	return s.Method, s.Product != id.Nil
}

// SendBack says that a stage has to be done once more, in the pass that now begins.
func (p *PieceNeeds) SendBack(stage id.ID, pass int32, at time.Time) {
	if s := p.stage(stage); s != nil {
		s.Pass, s.DoneAt = pass, time.Time{}
		p.open(*s, at)
	}
}

// Promise says until when the piece is promised; the zero time: to nobody.
func (p *PieceNeeds) Promise(until time.Time) { p.PromisedAt = until }

// Stop says that the piece was given up: it needs nothing more.
func (p *PieceNeeds) Stop() {
	p.Stopped = true
	for key, n := range p.Needs {
		if n.State == NeedOpen {
			p.close(key, NeedDropped, time.Time{})
		}
	}
}

// Sell says that the piece was sold: what was noted before needs nothing more, also if the piece
// comes back. What is laid out after that is work that was promised with it, or begun anew.
func (p *PieceNeeds) Sell(at time.Time) {
	if at.After(p.SoldAt) {
		p.SoldAt = at
	}
	for key, n := range p.Needs {
		if n.State == NeedOpen && p.gone(n) {
			p.close(key, NeedDropped, time.Time{})
		}
	}
}

// gone reports whether nobody does any more what would need something.
func (p *PieceNeeds) gone(n Need) bool { return p.Stopped || !n.NotedAt.After(p.SoldAt) }

func (p *PieceNeeds) stage(stage id.ID) *PlannedStage {
	i := slices.IndexFunc(p.Stages, func(s PlannedStage) bool { return s.ID == stage })
	if i < 0 {
		return nil
	}
	return &p.Stages[i]
}

func (s PlannedStage) key() NeedKey { return NeedKey{Stage: s.ID, Product: s.Product, Pass: s.Pass} }

// open notes what a stage needs in its present pass, or as it is planned now.
func (p *PieceNeeds) open(s PlannedStage, at time.Time) {
	if s.Product == id.Nil {
		return
	}
	n, known := p.Needs[s.key()]
	if !known {
		n = Need{NeedKey: s.key(), Piece: p.Piece, NotedAt: at}
	}
	n.Title, n.Kind, n.Method, n.Unit, n.Planned, n.State = s.Title, s.Kind, s.Method, s.Unit, s.Planned, NeedOpen
	if p.gone(n) {
		n.State = NeedDropped
	}
	p.put(n)
}

// close ends a need. One of a piece that was given up or sold may yet turn out to be done before that.
func (p *PieceNeeds) close(key NeedKey, state NeedState, at time.Time) {
	n, known := p.Needs[key]
	if !known || n.State == NeedDone {
		return
	}
	n.State, n.DoneAt = state, at
	p.put(n)
}

func (p *PieceNeeds) put(n Need) {
	if p.Needs == nil {
		p.Needs = map[NeedKey]Need{}
	}
	if p.touched == nil {
		p.touched = map[NeedKey]bool{}
	}
	p.Needs[n.NeedKey], p.touched[n.NeedKey] = n, true
}
