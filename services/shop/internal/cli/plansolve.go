package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"tackfree/pkg/fault"
	"tackfree/services/shop/internal/instance"
)

type solvePlanCmd struct {
	JSON   bool          `help:"Print the plan as JSON." name:"json"`
	File   string        `arg:"" type:"existingfile" help:"What is to be planned."`
	Format string        `help:"How the file says it: floor (our own JSON: people, stations, pieces), jobshop, fjsp, rcpsp or rcpspmax (the texts of the literature)." default:"floor"`
	Budget time.Duration `help:"How long to search, 10ms or more. It ends before when no plan can be better." default:"10s"`
	Seed   uint64        `help:"Another number searches another way." default:"1"`
	Out    string        `help:"Write the plan to a file too." type:"path" placeholder:"FILE"`
	Gantt  string        `help:"Draw it as SVG: a row for each person and station, machine or activity." type:"path" placeholder:"FILE"`
}

// Help is printed by --help.
func (*solvePlanCmd) Help() string {
	return "It needs no shop.\n\nFor example: shop plan week.json --budget 20s --out planned.json --gantt planned.svg"
}

// Run is called by kong.
func (c *solvePlanCmd) Run(e *env) error {
	if c.Budget < 10*time.Millisecond || c.Budget > 24*time.Hour {
		return fault.New(fault.Invalid, "BUDGET_OUT_OF_RANGE", "A search takes from 10ms to 24h, not %s. Give another --budget.", c.Budget)
	}
	for _, path := range []string{c.Out, c.Gantt} {
		if err := canWrite(path); err != nil {
			return err
		}
	}
	text, err := os.ReadFile(c.File)
	if err != nil {
		return err
	}
	p, err := instance.Read(text, instance.Format(c.Format))
	if err != nil {
		return inFile(c.File, err)
	}
	shown := e.waiting("planning", c.JSON)
	var last instance.Progress
	a, err := p.Solve(e.ctx, instance.Options{Seed: c.Seed, Budget: c.Budget, Improved: func(i instance.Progress) {
		if c.JSON || (last.Elapsed > 0 && i.Objective == last.Objective && i.Bound == last.Bound) {
			return // better only in what comes after the objective
		}
		last = i
		shown.aside(func() {
			fmt.Fprintf(e.errs, "%6.1f s  %d, no plan below %d\n", i.Elapsed.Seconds(), i.Objective, i.Bound)
		})
	}})
	e.shown.end()
	if err != nil {
		return err
	}
	return c.give(e, a)
}

// canWrite finds out before a long search whether a file can be written after it. Empty, none is wanted.
func canWrite(path string) error {
	if path == "" {
		return nil
	}
	was, err := os.Stat(path)
	var f *os.File
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if f, err = os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*"); err == nil {
			err = errors.Join(f.Close(), os.Remove(f.Name()))
		}
	case err == nil && (was.IsDir() || was.Mode().IsRegular()): // a pipe is written to once
		if f, err = os.OpenFile(path, os.O_WRONLY, 0); err == nil {
			err = f.Close()
		}
	}
	if err != nil {
		return fmt.Errorf("%s cannot be written, so nothing was searched for: %w", path, causeOf(err))
	}
	return nil
}

// give writes the files that were asked for, and then the plan.
func (c *solvePlanCmd) give(e *env, a *instance.Answer) error {
	if c.Out != "" {
		if err := os.WriteFile(c.Out, append(a.Schedule, '\n'), 0o644); err != nil {
			return err
		}
	}
	if c.Gantt != "" {
		if err := os.WriteFile(c.Gantt, a.Chart(), 0o644); err != nil {
			return err
		}
	}
	if c.JSON {
		b, err := json.Marshal(a)
		if err != nil {
			return err
		}
		return writeJSON(e.out, b)
	}
	verdict := fmt.Sprintf("no plan is below %d", a.LowerBound)
	if a.LowerBound == a.Objective {
		verdict = "no plan is better"
	}
	for _, line := range a.Timetable {
		fmt.Fprintln(e.out, line)
	}
	what := "Objective"
	if c.Format == string(instance.Floor) {
		what = "Lateness, in minutes times the weight of each piece:"
	}
	_, err := fmt.Fprintf(e.out, "%s %d; %s. All is done at %s. Searched for %.1f s.\n", what, a.Objective, verdict, a.At(a.Makespan), a.Seconds)
	return err
}
