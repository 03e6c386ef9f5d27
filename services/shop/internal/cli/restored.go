package cli

import (
	"context"
	"fmt"

	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/services/costing/costingsvc"
	"tackfree/services/shop/internal/client"
)

type restoredCmd struct {
	AdminURL string `help:"Postgres URL of the one who made the roles, with the database that was restored." required:"" env:"TACKFREE_ADMIN_URL"`
}

// Help implements kong.HelpProvider.
func (restoredCmd) Help() string {
	return `Stop the services, restore the database, run this, start the services. They take back what the backup does not ` +
		`know, as if it had not happened, and verify says when the books are right again. Running it once more does no harm. ` +
		`A journal that was taken after the backup was made cannot be gone on from: "cost journal --after" says so, and it is taken anew.

A shop that "shop up" keeps in a folder does not need it: close the shop and put back a copy of the whole folder, made while the shop was closed. ` +
		`But nothing in the folder tells the shop that it was put back, and positions of the journal are given out again: whoever took it after the copy ` +
		`was made takes it anew, whole and without "--after", which would leave entries out and not say so.`
}

func (c *restoredCmd) Run(e *env) error {
	for _, name := range client.Producers {
		err := c.tell(e.ctx, name, func(db *pg.DB) error { return outbox.Restored(e.ctx, db, name) })
		if err != nil {
			return err
		}
	}
	noted := false
	err := c.tell(e.ctx, costingsvc.Name, func(db *pg.DB) (err error) {
		noted, err = costingsvc.Restored(e.ctx, db)
		return err
	})
	if err == nil {
		_, err = fmt.Fprintln(e.out, "The services know now that they were restored. Start them; `shop verify` says when the books are right.")
	}
	if err == nil && !noted {
		_, err = fmt.Fprintln(e.out, "This backup has no books that know positions of the journal: whoever noted one takes the journal anew, whole and without --after.")
	}
	return err
}

// tell opens a service's schema in the database that was restored.
func (c *restoredCmd) tell(ctx context.Context, name string, fn func(*pg.DB) error) error {
	db, err := pg.Open(ctx, pg.Config{URL: c.AdminURL, Schema: name}, nil)
	if err != nil {
		return err
	}
	defer db.Close()
	return fn(db)
}
