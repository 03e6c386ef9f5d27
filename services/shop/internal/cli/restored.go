package cli

import (
	"context"
	"fmt"

	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/services/shop/internal/client"
)

type restoredCmd struct {
	AdminURL string `help:"Postgres URL of the one who made the roles, with the database that was restored." required:"" env:"TACKFREE_ADMIN_URL"`
}

// Help implements kong.HelpProvider.
func (restoredCmd) Help() string {
	return `Stop the services, restore the database, run this, start the services. They take back what the backup does not ` +
		`know, as if it had not happened, and verify says when the books are right again. Running it once more does no harm.

A shop that "shop up" keeps in a folder does not need it: close the shop and put back a copy of the whole folder, made while the shop was closed.`
}

func (c *restoredCmd) Run(e *env) error {
	for _, name := range client.Producers {
		if err := restored(e.ctx, c.AdminURL, name); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintln(e.out, "The services know now that they were restored. Start them; `shop verify` says when the books are right.")
	return err
}

func restored(ctx context.Context, url, name string) error {
	db, err := pg.Open(ctx, pg.Config{URL: url, Schema: name}, nil)
	if err != nil {
		return err
	}
	defer db.Close()
	return outbox.Restored(ctx, db, name)
}
