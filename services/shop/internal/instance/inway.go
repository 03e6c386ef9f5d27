package instance

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/planner"
	"tackfree/pkg/planner/floorfile"
)

// mostExplained is of how many operations it is said what is in their way.
const mostExplained = 3

// inTheWay says of what has no place, or cannot keep a longest wait, which constraints together are in its way. There
// is no plan where something fits nowhere although it were alone; else only none was found. Faults: NO_PLAN,
// NO_PLAN_IN_TIME.
func (f floor) inTheWay(plan *planner.Plan) error {
	var ops []int
	for _, u := range plan.Left {
		if u.Why != planner.BeforeIt {
			ops = append(ops, u.Operation)
		}
	}
	for _, l := range plan.Missed {
		ops = append(ops, f.Problem.Lags[l].To)
	}
	slices.Sort(ops)
	ops = slices.Compact(ops)
	var all []string
	proven := false
	seen := map[string]bool{}
	for _, op := range ops[:min(len(ops), mostExplained)] {
		found, err := planner.Explain(&f.Problem, op)
		if err != nil {
			return err
		}
		set := fmt.Sprint(slices.DeleteFunc(slices.Clone(found), func(x planner.Constraint) bool { return x.Kind == planner.OtherWork }))
		if len(found) > 0 && seen[set] {
			continue // said of the other end
		}
		seen[set], proven = true, proven || len(found) > 0
		sentence, err := f.explained(op, found)
		if err != nil {
			return err
		}
		all = append(all, sentence)
	}
	if more := len(ops) - mostExplained; more > 0 {
		all = append(all, fmt.Sprintf("And %d more have no place.", more))
	}
	if proven {
		return noPlan("There is no plan for this floor. %s", strings.Join(all, " "))
	}
	return fault.New(fault.Exhausted, "NO_PLAN_IN_TIME", "No plan was found for this floor in this time, nor that there is none. %s Allow more with --budget, plan further ahead, or less.", strings.Join(all, " "))
}

// explained says what is in the way of one operation, in sentences.
func (f floor) explained(op int, found []planner.Constraint) (says string, err error) {
	if op, err = planner.Culprit(&f.Problem, op, found); err != nil {
		return "", err
	}
	who := fmt.Sprintf("Piece %s, %s, %s: ", f.Problem.Pieces[f.Problem.Operations[op].Piece].ID, f.name(op), f.takes(op))
	if len(found) == 0 {
		return who + fmt.Sprintf("as far as can be said it would fit by itself, but other work takes the time of those who can do it until the plan ends, %s, or what is fixed leaves its wait no room.", f.at(f.Problem.Horizon)), nil
	}
	var all []string
	for _, x := range found {
		all = append(all, f.constraint(x))
	}
	if len(all) == 1 {
		return who + all[0] + ". That has to give.", nil
	}
	return who + strings.Join(all, "; ") + ". One of these has to give.", nil
}

// constraint says one of those in the way.
func (f floor) constraint(x planner.Constraint) string {
	p := &f.Problem
	switch x.Kind {
	case planner.NobodyAble:
		return "nobody can do " + f.name(x.Index)
	case planner.WorkerHours:
		return p.Workers[x.Index].ID + " is " + f.hours("there", p.Workers[x.Index].Calendar)
	case planner.StationHours:
		return p.Stations[x.Index].ID + " is " + f.hours("open", p.Stations[x.Index].Calendar)
	case planner.LongestWait:
		l := p.Lags[x.Index]
		return fmt.Sprintf("%s has to begin within %d minutes of the end of %s, and %d after it at the soonest%s", f.name(l.To), l.Max, f.name(l.From), l.Min, f.window(l))
	case planner.EarliestStart:
		return fmt.Sprintf("%s does not begin before %s", f.name(x.Index), f.at(p.Operations[x.Index].Earliest))
	case planner.ReleaseDate:
		return fmt.Sprintf("nothing is done on piece %s before %s", p.Pieces[x.Index].ID, f.at(p.Pieces[x.Index].Release))
	case planner.FixedWork:
		return f.fixed(x.Index)
	case planner.Cleaning:
		return p.Stations[x.Index].ID + " has to be cleaned between colours"
	case planner.OtherWork:
		return fmt.Sprintf("%s of piece %s, %s, has to be done too and takes the same hands or station", f.name(x.Index), p.Pieces[p.Operations[x.Index].Piece].ID, f.takes(x.Index))
	case planner.StationRoom:
		return fmt.Sprintf("%s holds %d at once", p.Stations[x.Index].ID, p.Stations[x.Index].Capacity)
	default:
		return "the plan ends at " + f.at(p.Horizon)
	}
}

// window says when something may begin after what is fixed; empty: it is not.
func (f floor) window(l planner.Lag) string {
	for _, x := range f.Problem.Fixed {
		if x.Operation == l.From {
			return fmt.Sprintf(": from %s to %s", f.at(x.End+l.Min), f.at(x.End+l.Max))
		}
	}
	return ""
}

// takes says how long an operation takes, by the quickest and the slowest.
func (f floor) takes(op int) string {
	least, longest := 0, 0
	for i, m := range f.Problem.Operations[op].Modes {
		if least, longest = min(least, m.Minutes), max(longest, m.Minutes); i == 0 {
			least = m.Minutes
		}
	}
	if least == longest {
		return fmt.Sprintf("%d minutes", least)
	}
	return fmt.Sprintf("%d to %d minutes", least, longest)
}

// hours says the longest stretch of a calendar from now on, and when the last ends.
func (f floor) hours(what string, c planner.Calendar) string {
	longest, last := planner.Window{}, planner.Window{}
	for _, w := range c {
		if w = (planner.Window{Start: max(w.Start, f.Problem.Now), End: min(w.End, f.Problem.Horizon)}); w.Start >= w.End {
			continue
		}
		if last = w; w.End-w.Start > longest.End-longest.Start {
			longest = w
		}
	}
	if longest == (planner.Window{}) {
		return "never " + what
	}
	return fmt.Sprintf("%s %d minutes at a stretch at most, as from %s to %s, and the last time until %s", what, longest.End-longest.Start, f.at(longest.Start), f.at(longest.End), f.at(last.End))
}

func (f floor) fixed(op int) string {
	i := slices.IndexFunc(f.Problem.Fixed, func(x planner.Fixed) bool { return x.Operation == op })
	x, where := f.Problem.Fixed[i], ""
	if x.Worker != planner.NoWorker {
		where += " by " + f.Problem.Workers[x.Worker].ID
	}
	if x.Station != planner.NoStation {
		where += " at " + f.Problem.Stations[x.Station].ID
	}
	return fmt.Sprintf("%s is fixed from %s to %s%s", f.name(op), f.at(x.Start), f.at(x.End), where)
}

// name is an operation's id and title.
func (f floor) name(op int) string {
	id := f.Problem.Operations[op].ID
	if title := f.Titles[op]; title != "" && title != id {
		return fmt.Sprintf("operation %s (%s)", id, title)
	}
	return "operation " + id
}

// at says a minute by the calendar where the file says what minute 0 is.
func (f floor) at(t planner.Minute) string {
	epoch, err := time.Parse(floorfile.EpochLayout, f.Epoch)
	if err != nil {
		return fmt.Sprintf("minute %d", t)
	}
	return epoch.Add(time.Duration(t) * time.Minute).Format("Mon 2 Jan 15:04")
}
