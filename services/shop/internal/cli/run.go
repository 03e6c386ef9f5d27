package cli

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"tackfree/services/shop/internal/scenario"
	"tackfree/services/shop/internal/suite"
	"tackfree/testdata/demo"
)

// postgresFlags are the ways to a database.
type postgresFlags struct {
	DatabaseURL     string `help:"An administrator's URL of a Postgres of your own; without it the shop runs a private one." env:"DATABASE_URL"`
	InstallPostgres bool   `help:"If this machine has no Postgres, install it with the system's package manager, saying what it runs."`
}

type demoCmd struct {
	postgresFlags
	Scenario string `help:"Play this story instead of the one that is built in." type:"existingfile"`
	Keep     bool   `help:"Leave the shop running afterwards, until Ctrl-C."`
	Quiet    bool   `help:"Print only what the pieces earned."`
	JSON     bool   `help:"Print what the pieces earned as JSON." name:"json"`
}

func (c *demoCmd) Run(e *env) error {
	story, err := c.read()
	if err != nil {
		return err
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
	s, err := suite.Start(e.ctx, suite.Options{Dir: dir, Throwaway: true, DatabaseURL: c.DatabaseURL, InstallPostgres: c.InstallPostgres,
		Currency: story.Currency, Zone: story.Zone, Reconcile: time.Second, Logger: e.logger, Progress: prepare})
	if err != nil {
		return err
	}
	defer s.Stop()
	say(fmt.Sprintf("%s opens (%.1f s)", story.Shop, time.Since(began).Seconds()))
	err = scenario.Play(e.ctx, s.Shop, story, func(done, all int, text string) { say(fmt.Sprintf("%4d/%d  %s", done, all, text)) })
	if err != nil {
		return err
	}
	if err := c.conclude(e, s, began); err != nil || !c.Keep {
		return err
	}
	fmt.Fprintf(e.out, "\nThe shop stays open: try  shop cost list  in another terminal. Ctrl-C closes it and removes %s.\n", dir)
	return s.Wait(e.ctx)
}

func (c *demoCmd) read() (*scenario.Scenario, error) {
	if c.Scenario == "" {
		return scenario.Read(demo.Files, "shop.json")
	}
	return scenario.Read(os.DirFS(filepath.Dir(c.Scenario)), filepath.Base(c.Scenario))
}

// say tells people how the story goes, and before that how the shop is prepared: the
// latter is never kept quiet, for it may install something.
func (c *demoCmd) say(e *env) (story, prepare func(string)) {
	to := func(w io.Writer) func(string) { return func(line string) { fmt.Fprintln(w, line) } }
	if c.Quiet || c.JSON {
		return to(io.Discard), to(e.errs)
	}
	return to(e.out), to(e.out)
}

// conclude proves the books and prints them.
func (c *demoCmd) conclude(e *env, s *suite.Suite, began time.Time) error {
	r, err := verify(e, s.Shop)
	if err != nil {
		return err
	}
	if !c.Quiet && !c.JSON {
		fmt.Fprintf(e.out, "\nThe books were recomputed from all %d events: %d ledger lines, no difference. (%.1f s)\n\n",
			r.Events, r.LedgerLines, time.Since(began).Seconds())
	}
	return printShop(e, s.Shop, c.JSON)
}

type upCmd struct {
	postgresFlags
	Data     string `help:"Folder that everything is kept in." required:"" type:"path"`
	Listen   string `help:"Serve over TCP too: host:port for intake, the other services on the ports after it." placeholder:"HOST:PORT"`
	Currency string `help:"ISO 4217 code of the currency the books are kept in; it cannot be changed later." default:"USD"`
	Zone     string `help:"IANA time zone of the shop, such as America/Chicago; it cannot be changed later." default:"UTC"`
}

func (c *upCmd) Run(e *env) error {
	if err := os.MkdirAll(c.Data, 0o711); err != nil {
		return err
	}
	s, err := suite.Start(e.ctx, suite.Options{Dir: c.Data, DatabaseURL: c.DatabaseURL, InstallPostgres: c.InstallPostgres,
		Currency: c.Currency, Zone: c.Zone, Listen: c.Listen, Logger: e.logger,
		Progress: func(line string) { fmt.Fprintln(e.out, line) }})
	if err != nil {
		return err
	}
	defer s.Stop()
	fmt.Fprintf(e.out, "The shop is open. Its books are in %s, kept in %s, days counted in %s.\nCtrl-C closes it.\n", c.Data, c.Currency, c.Zone)
	return s.Wait(e.ctx)
}

// fileOf splits a path into its folder and its name.
func fileOf(path string) (fs.FS, string) {
	return os.DirFS(filepath.Dir(path)), strings.TrimPrefix(filepath.Base(path), "./")
}
