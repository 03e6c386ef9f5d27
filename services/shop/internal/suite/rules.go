package suite

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/boot"
	"tackfree/services/costing/costingsvc"
)

// The shop's own account rules are in its own folder; none there: they are the program's. What they
// replaced last is beside them.
const (
	rulesFile       = "account-rules.yaml"
	rulesBeforeFile = "account-rules-before.yaml"
)

// accountRules are those that a shop is opened with.
type accountRules struct {
	file   string // empty: the program's
	text   []byte
	madeBy string // how books are marked that are made by them
	kept   []byte // the shop's own of before; nil: they were the program's
}

// rules finds out by which account rules the shop books: those that are said, or else those that it
// was opened with before. It refuses those by which costing would not start.
func (o Options) rules() (r accountRules, err error) {
	if r.kept, err = o.keptRules(); err != nil {
		return r, err
	}
	switch o.AccountRules {
	case boot.ProgramRules:
	case "":
		if r.kept != nil {
			r.file = filepath.Join(o.Dir, rulesFile)
		}
	default:
		r.file = string(o.AccountRules)
	}
	r.text, r.madeBy, err = costingsvc.AccountRules(boot.RulesFile(r.file))
	if err != nil && r.file != "" {
		err = fmt.Errorf("%w\nMend that file, or open the shop with --account-rules and another one; --account-rules %s takes those that come with the program", err, boot.ProgramRules)
	}
	return r, err
}

// keptRules are the shop's own of before; nil: it had none.
func (o Options) keptRules() ([]byte, error) {
	kept, err := os.ReadFile(filepath.Join(o.Dir, rulesFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return kept, err
}

// tellAnew says that costing is about to make the books anew, for they were made by other rules.
func (s *Suite) tellAnew(ctx context.Context) error {
	by, some, err := booksMadeBy(ctx, s.AdminURL())
	if err == nil && some && by != s.rules.madeBy {
		s.say("The books were made by other rules than those of now: by other account rules or by another version of the program. They are made anew; shop cost journal --after says whether entries are others then, and from which day on.")
	}
	return err
}

// booksMadeBy reads how the books in a database are marked, and whether there is anything in them.
func booksMadeBy(ctx context.Context, url string) (by string, some bool, err error) {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return "", false, fmt.Errorf("connect to Postgres: %w", err)
	}
	defer func() { _ = conn.Close(ctx) }()
	var there bool
	if err := conn.QueryRow(ctx, `SELECT to_regclass('costing.made_by') IS NOT NULL`).Scan(&there); err != nil || !there {
		return "", false, err
	}
	err = conn.QueryRow(ctx, `SELECT coalesce((SELECT rules FROM costing.made_by), ''), EXISTS (SELECT FROM costing.applied)`).Scan(&by, &some)
	return by, some, err
}

// keepRules keeps in the folder the rules that the shop was opened with, now that costing has taken
// them, and puts those that they replace beside them. Costing makes no books by them before: whatever
// happens to the shop from here on, it goes on with the rules of its books.
func (s *Suite) keepRules() error {
	r, own, before := &s.rules, filepath.Join(s.o.Dir, rulesFile), filepath.Join(s.o.Dir, rulesBeforeFile)
	if s.o.Throwaway || r.file == "" && r.kept == nil {
		return nil
	}
	changed := r.file == "" || !bytes.Equal(r.text, r.kept)
	if changed && r.kept != nil {
		if err := write(before, r.kept); err != nil {
			return err
		}
	}
	if r.file == "" {
		r.kept = nil
		s.say("The shop books by the account rules that come with the program again; its own of before are in %s.", before)
		return os.Remove(own)
	}
	if changed {
		if err := write(own, r.text); err != nil {
			return err
		}
		s.sayKept(before)
	}
	r.file, r.kept = own, r.text
	return nil
}

// sayKept says which rules are the shop's own from now on.
func (s *Suite) sayKept(before string) {
	if s.rules.kept != nil {
		s.say("The account rules of %s replace the shop's own; those of before are in %s.", s.rules.file, before)
		return
	}
	s.say("The account rules of %s are the shop's own from now on, also when they are not said again; --account-rules %s goes back to the program's.", s.rules.file, boot.ProgramRules)
}

// OwnRules is the file in which the shop's own account rules are; empty: it books by the program's.
func (s *Suite) OwnRules() string { return s.rules.file }
