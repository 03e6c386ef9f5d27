package instance

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tackfree/pkg/planner"
)

// timetable lists what each person does, what nobody attends, and the promises that are not kept.
func (f floor) timetable(plan *planner.Plan) (lines []string) {
	p := &f.Problem
	for w := range len(p.Workers) + 1 {
		who, name := w, "nobody has to be there"
		if w == len(p.Workers) {
			who = planner.NoWorker
		} else {
			name = p.Workers[w].ID
		}
		ops := f.doneBy(plan, who)
		if len(ops) > 0 {
			lines = append(lines, name)
		}
		for _, op := range ops {
			lines = append(lines, "  "+f.line(op, plan.Slots[op]))
		}
	}
	return append(lines, f.promises(plan)...)
}

// doneBy gives the operations of a worker in the order in which they do them.
func (f floor) doneBy(plan *planner.Plan, worker int) (ops []int) {
	for op, s := range plan.Slots {
		if s.Worker == worker {
			ops = append(ops, op)
		}
	}
	slices.SortStableFunc(ops, func(a, b int) int { return cmp.Compare(plan.Slots[a].Start, plan.Slots[b].Start) })
	return ops
}

func (f floor) line(op int, s planner.Slot) string {
	where := ""
	if s.Station != planner.NoStation {
		where = ", at " + f.Problem.Stations[s.Station].ID
	}
	return fmt.Sprintf("%s  %s%s", f.stretch(s.Start, s.End), f.ofPiece(op), where)
}

// stretch says from when to when, the day once.
func (f floor) stretch(start, end planner.Minute) string {
	from, to := f.at(start), f.at(end)
	if at := strings.LastIndex(from, " "); strings.HasPrefix(to, from[:at+1]) {
		to = to[at+1:]
	}
	return from + " to " + to
}

// ofPiece is what is done on which piece.
func (f floor) ofPiece(op int) string {
	o := &f.Problem.Operations[op]
	return f.Problem.Pieces[o.Piece].ID + ": " + cmp.Or(f.Titles[op], o.ID)
}

// promises says which promises are not kept, and by how much.
func (f floor) promises(plan *planner.Plan) (lines []string) {
	ends, promised := make([]int, len(f.Problem.Pieces)), 0
	for op, s := range plan.Slots {
		piece := f.Problem.Operations[op].Piece
		ends[piece] = max(ends[piece], s.End)
	}
	for i, p := range f.Problem.Pieces {
		if p.Due == planner.NoDue {
			continue
		}
		if promised++; ends[i] > p.Due {
			late := ends[i] - p.Due
			lines = append(lines, fmt.Sprintf("%s is done at %s, %d h %02d min after its promise.", p.ID, f.at(ends[i]), late/60, late%60))
		}
	}
	if promised > 0 && len(lines) == 0 {
		return []string{"Every promise is kept."}
	}
	return lines
}
