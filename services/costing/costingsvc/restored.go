package costingsvc

import (
	"context"

	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/store"
)

// Restored tells the books that their database was set back to a backup, while costing does not run: whoever goes on
// from a position of the journal that they gave out since is refused, for they give out none a second time. False:
// they keep no positions yet, being older or none at all, and nothing can be noted.
func Restored(ctx context.Context, db *pg.DB) (noted bool, err error) {
	err = db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) (err error) {
		noted, err = store.New(tx).SetBack(ctx)
		return err
	})
	return noted, err
}
