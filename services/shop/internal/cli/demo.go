package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/scenario"
	"tackfree/services/shop/internal/suite"
	"tackfree/testdata/demo"
	"tackfree/testdata/week"
)

type demoCmd struct {
	postgresFlags
	Scenario string `help:"Which story: story, three weeks of four people with eight pieces; week, one of twelve people with sixty; or a file with one of your own." default:"story" placeholder:"STORY"`
	Keep     bool   `help:"Play it up to its middle as if that were now, and leave the shop open, at work, with its pages, until Ctrl-C."`
	Quiet    bool   `help:"Print only what the pieces earned."`
	JSON     bool   `help:"Print what the pieces earned as JSON." name:"json"`
}

func (c *demoCmd) Run(e *env) error {
	story, err := c.read()
	if err != nil {
		return err
	}
	if c.Keep {
		if err := story.Halfway(time.Now()); err != nil {
			return err
		}
	}
	dir, err := os.MkdirTemp("", "tackfree-demo-")
	if err != nil {
		return err
	}
	if err := os.Chmod(dir, 0o711); err != nil { // the database may run as another user
		return err
	}
	began := time.Now()
	say, prepare := c.say(e)
	where := ""
	if c.Keep {
		where = usualPages
	}
	s, err := suite.Start(e.ctx, suite.Options{Pages: where, PagesAnywhere: true, Dir: dir, Throwaway: true, DatabaseURL: c.DatabaseURL, InstallPostgres: c.InstallPostgres,
		Currency: story.Currency, Zone: story.Zone, Reconcile: time.Second, ShiftEnd: time.Second, Logger: e.logger, Progress: prepare})
	if err != nil {
		return err
	}
	defer s.Stop()
	say(fmt.Sprintf("%s opens (%.1f s)", story.Shop, time.Since(began).Seconds()))
	err = scenario.Play(e.ctx, s.Shop, story, func(done, all int, text string) {
		if e.shown == nil {
			e.progress("playing", all, c.Quiet)
		}
		e.shown.aside(func() { say(fmt.Sprintf("%4d/%d  %s", done, all, text)) })
		e.shown.at(done)
	})
	e.shown.end()
	if err != nil {
		return err
	}
	if err := c.conclude(e, s, began); err != nil || !c.Keep {
		return err
	}
	fmt.Fprintln(e.out)
	if err := e.sayPages(s); err != nil {
		return err
	}
	fmt.Fprintf(e.out, "The shop stays open: try  shop --shop %s cost list  in another terminal. Ctrl-C closes it and removes that folder.\n", dir)
	return s.Wait(e.ctx)
}

func (c *demoCmd) read() (*scenario.Scenario, error) {
	switch c.Scenario {
	case "story":
		return scenario.Read(demo.Files, "shop.json")
	case "week":
		return scenario.Read(week.Files, "shop.json")
	}
	if _, err := os.Stat(c.Scenario); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("there is no story %q and no file of that name; say story, week, or a file with one of your own", c.Scenario)
	}
	return scenario.Read(fileOf(c.Scenario))
}

// say tells people how the story goes, and before that how the shop is prepared: the
// latter is never kept quiet, for it may install something.
func (c *demoCmd) say(e *env) (story, prepare func(string)) {
	if c.Quiet || c.JSON {
		return e.say(io.Discard), e.say(e.errs)
	}
	return e.say(e.out), e.say(e.out)
}

// conclude proves the books and prints them.
func (c *demoCmd) conclude(e *env, s *suite.Suite, began time.Time) error {
	r, err := s.Shop.Books.Verify(e.ctx, &costingv1.VerifyRequest{})
	if err != nil {
		return err
	}
	if err := differ(r); err != nil {
		for _, first := range r.Differences[:min(len(r.Differences), 1)] {
			err = fmt.Errorf("%w; the first: %s", err, first)
		}
		return err
	}
	if !c.Quiet && !c.JSON {
		fmt.Fprintf(e.out, "\nThe books were recomputed from all %d events: %d ledger lines, no difference. (%.1f s)\n\n",
			r.Events, r.LedgerLines, time.Since(began).Seconds())
	}
	if c.Scenario != "week" || c.Keep {
		return printCosts(e, s.Shop, c.JSON)
	}
	worked, err := s.Shop.Worked(e.ctx, theWeek)
	if err != nil {
		return err
	}
	return printTheWeek(e, s.Shop, worked, c.JSON)
}
