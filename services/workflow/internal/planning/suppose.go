package planning

import (
	"encoding/binary"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// Supposed is what the floor is looked at with.
type Supposed struct {
	Absences  []Absence
	Promises  []Promise
	Newcomers []Newcomer
}

// Absence is somebody who is away, the first and the last day included, each a midnight in UTC.
type Absence struct {
	Person      id.ID
	First, Last time.Time
}

// Promise is what a piece would be promised for.
type Promise struct {
	Piece id.ID
	At    time.Time
}

// Newcomer is a piece that would come in now.
type Newcomer struct {
	Route    workflow.Route
	Promised time.Time // zero: to nobody
}

// Suppose gives the facts as they would be. Those before stay as they are. Faults: of laying out a route.
func (f *Facts) Suppose(s Supposed) (*Facts, error) {
	out := *f
	out.People, out.Pieces = slices.Clone(f.People), slices.Clone(f.Pieces)
	for _, a := range s.Absences {
		for i := range out.People {
			if p := &out.People[i]; p.ID == a.Person {
				p.DaysOff = append(slices.Clone(p.DaysOff), workflow.DayOff{First: a.First, Last: a.Last})
			}
		}
	}
	for _, promise := range s.Promises {
		for i := range out.Pieces {
			if p := &out.Pieces[i]; p.Piece.ID == promise.Piece {
				p.Piece.Promised = promise.At
			}
		}
	}
	number := uint64(0)
	for _, n := range s.Newcomers {
		stages, err := workflow.LayOut(id.Nil, []workflow.PartRoute{{Route: n.Route}}, func() id.ID { number++; return supposedID(number) })
		if err != nil {
			return nil, err
		}
		out.Pieces = append(out.Pieces, Piece{Title: n.Route.Word, Plan: workflow.Plan{Stages: stages,
			Piece: workflow.Piece{TakenIn: f.Now, Promised: n.Promised, Planned: true}}})
	}
	return &out, nil
}

// Near gives the facts as if a plan of them were what people know: a plan of what is supposed moves little of it, and
// tells what it moves.
func (f *Facts) Near(now *Plan) *Facts {
	out := *f
	out.Published = now.byStage()
	return &out
}

// supposedID is the id of a stage that nobody has laid out, which no stage has that somebody did: those
// begin with their time.
func supposedID(n uint64) (i id.ID) {
	binary.BigEndian.PutUint64(i[8:], n)
	return i
}

// Change is what becomes of a piece now, and what would. Before is nil of one that is only supposed.
type Change struct{ Before, After *Outlook }

// Changes are the pieces that would end at another time, or have another chance or promise.
func Changes(before, after *Plan) (all []Change) {
	was := map[id.ID]*Outlook{}
	for i := range before.Pieces {
		was[before.Pieces[i].Piece.Piece.ID] = &before.Pieces[i]
	}
	for i := range after.Pieces {
		now := &after.Pieces[i]
		then := was[now.Piece.Piece.ID]
		if then == nil || !then.like(now) {
			all = append(all, Change{then, now})
		}
	}
	return all
}

func (o *Outlook) like(other *Outlook) bool {
	return o.End.Equal(other.End) && o.Chance == other.Chance && o.Piece.Piece.Promised.Equal(other.Piece.Piece.Promised)
}
