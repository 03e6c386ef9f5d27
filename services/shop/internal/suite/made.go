package suite

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/jackc/pgx/v5"

	"tackfree/services/shop/internal/client"
)

// made is what a shop was made with, and is kept with for good: figures of one currency
// cannot be read as another's.
type made struct {
	Currency string `json:"currency"`
	Zone     string `json:"zone"`
}

// madeFile is in the shop's own folder.
const madeFile = "shop.json"

// settle finds out what the shop is kept in, before anything is started. known is what it
// was made with, if that can be known.
func (o Options) settle(known made) (made, error) {
	m := made{cmp.Or(o.Currency, known.Currency, "USD"), cmp.Or(o.Zone, known.Zone, "UTC")}
	if known != (made{}) && m != known {
		return m, fmt.Errorf("this shop was made with currency %s and zone %s, and its books cannot be read in %s and %s: leave --currency and --zone away, or make another shop with another --data",
			known.Currency, known.Zone, m.Currency, m.Zone)
	}
	_, err := client.NewTerms(m.Currency, m.Zone)
	return m, err
}

// known is what the shop was made with, as far as it can be known without starting
// anything: a database that is running says it, and else the folder.
func (o Options) known(ctx context.Context) (made, error) {
	if o.Throwaway {
		return made{}, nil
	}
	if o.DatabaseURL != "" {
		if m, err := ask(ctx, o.DatabaseURL); err != nil || m != (made{}) {
			return m, err
		}
	}
	return o.noted()
}

// noted reads what the folder was made with; nothing for a new one.
func (o Options) noted() (m made, err error) {
	file := filepath.Join(o.Dir, madeFile)
	b, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		return m, nil
	}
	if err != nil {
		return m, err
	}
	if err := json.Unmarshal(b, &m); err != nil || m.Currency == "" || m.Zone == "" {
		return m, fmt.Errorf("%s does not say which currency and zone the shop was made with", file)
	}
	return m, nil
}

// note keeps in the folder what the shop was made with.
func (o Options) note(m made) error {
	if o.Throwaway {
		return nil
	}
	b, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return err
	}
	return write(filepath.Join(o.Dir, madeFile), append(b, '\n'))
}

// ask reads from a database what the shop in it was made with; nothing if there is none.
func ask(ctx context.Context, url string) (m made, err error) {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return m, fmt.Errorf("connect to Postgres: %w", err)
	}
	defer func() { _ = conn.Close(ctx) }()
	var there bool
	if err := conn.QueryRow(ctx, `SELECT to_regclass('intake.shop') IS NOT NULL`).Scan(&there); err != nil || !there {
		return m, err
	}
	err = conn.QueryRow(ctx, `SELECT currency, zone FROM intake.shop`).Scan(&m.Currency, &m.Zone)
	if errors.Is(err, pgx.ErrNoRows) {
		return m, nil
	}
	return m, err
}

// write puts a file in place whole, so that nobody reads half of it.
func write(file string, b []byte) error {
	f, err := os.CreateTemp(filepath.Dir(file), "."+filepath.Base(file)+"-*")
	if err != nil {
		return err
	}
	_, err = f.Write(b)
	err = errors.Join(err, f.Close())
	if err == nil {
		err = os.Rename(f.Name(), file)
	}
	if err != nil {
		_ = os.Remove(f.Name())
	}
	return err
}
