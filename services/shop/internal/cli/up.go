package cli

import (
	"errors"
	"fmt"
	"os"

	"github.com/alecthomas/kong"

	"tackfree/pkg/boot"
	"tackfree/services/shop/internal/suite"
)

// postgresFlags are the ways to a database.
type postgresFlags struct {
	DatabaseURL     string `help:"An administrator's URL of a Postgres of your own; without it the shop runs a private one." env:"DATABASE_URL"`
	InstallPostgres bool   `help:"If this machine has no Postgres, install it with the system's package manager, saying what it runs."`
}

// rules are account rules that a person typed: a file, or the word for those of the program.
type rules struct{ boot.RulesFile }

// Decode implements kong.MapperValue.
func (r *rules) Decode(ctx *kong.DecodeContext) error {
	if err := r.RulesFile.Decode(ctx); err != nil || r.RulesFile == "" || r.RulesFile == boot.ProgramRules {
		return err
	}
	if info, err := os.Stat(string(r.RulesFile)); err != nil || info.IsDir() {
		return fmt.Errorf("there is no file %s; the word %s means those that come with the program", r.RulesFile, boot.ProgramRules)
	}
	return nil
}

type upCmd struct {
	postgresFlags
	Data     folder `help:"Folder that everything is kept in." required:"" placeholder:"DIR"`
	Listen   string `help:"Serve over TCP too: host:port for intake, the other services on the ports after it." placeholder:"HOST:PORT"`
	Pages    string `help:"Serve the pages on host:port; off: nowhere. Without it, on 127.0.0.1:7410, or on another port where that is taken." placeholder:"HOST:PORT"`
	Photos   string `name:"photos-url" help:"Keep the files of photos elsewhere than in the folder photos beside all else: file:///FOLDER, or a bucket that speaks S3: s3://BUCKET?region=REGION, for a server of your own with &endpoint=https://HOST&use_path_style=true; keys as AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY." env:"TACKFREE_PHOTOS_URL" placeholder:"URL"`
	Currency string `help:"ISO 4217 code of the currency the books are kept in. It is chosen once: USD if it is not said when the shop is made." placeholder:"CODE"`
	Zone     string `help:"IANA time zone of the shop, such as America/Chicago. It is chosen once: UTC if it is not said when the shop is made." placeholder:"ZONE"`
	Rules    rules  `name:"account-rules" help:"The shop's own accounts and account rules; shop cost accounts --yaml prints those to begin with. They are kept until others are said; the word program goes back to those that come with it. When they change, the books are made anew by them, and shop cost journal --after says whether entries are others then, and from which day on." env:"TACKFREE_ACCOUNT_RULES" placeholder:"FILE"`
}

func (c *upCmd) Run(e *env) error {
	if c.Data == "" {
		return errors.New("say which folder everything is kept in: --data DIR")
	}
	where, anywhere := c.pages()
	s, err := suite.Start(e.ctx, suite.Options{Pages: where, PagesAnywhere: anywhere, Dir: string(c.Data), Photos: c.Photos, DatabaseURL: c.DatabaseURL, InstallPostgres: c.InstallPostgres,
		Currency: c.Currency, Zone: c.Zone, Listen: c.Listen, AccountRules: c.Rules.RulesFile, Logger: e.logger, Progress: e.say(e.out)})
	if err != nil {
		return err
	}
	defer s.Stop()
	if err := e.ctx.Err(); err != nil { // it was asked to stop while it started
		return err
	}
	fmt.Fprintf(e.out, "The shop is open. Its books are in %s, kept in %s, days counted in %s.\n", c.Data, s.Currency(), s.Zone())
	if file := s.OwnRules(); file != "" {
		fmt.Fprintf(e.out, "They are booked by the shop's own account rules, %s.\n", file)
	}
	if err := e.sayPages(s); err != nil {
		return err
	}
	fmt.Fprintln(e.out, "Ctrl-C closes it.")
	return s.Wait(e.ctx)
}

// sayPages says where the pages are, and how to become the owner of a shop that has none.
func (e *env) sayPages(s *suite.Suite) error {
	if pages := s.PagesURL(); pages != "" {
		fmt.Fprintf(e.out, "Its pages are at %s.\n", pages)
	}
	key, err := s.ClaimKey(e.ctx)
	switch {
	case err != nil || key == "":
		return err
	case s.PagesURL() == "":
		fmt.Fprintln(e.out, "Nobody owns it yet. Become its owner with: shop owner claim NAME")
	default:
		fmt.Fprintf(e.out, "Nobody owns it yet. Become its owner at %s/claim#%s, once, until it is opened again.\n", s.PagesURL(), key)
	}
	return nil
}

// usualPages is where pages are served when nobody says otherwise.
const usualPages = "127.0.0.1:7410"

// pages says where the pages are served, and whether on another port too where that one is taken.
func (c *upCmd) pages() (where string, anywhere bool) {
	switch c.Pages {
	case "":
		return usualPages, true
	case "off":
		return "", false
	}
	return c.Pages, false
}
