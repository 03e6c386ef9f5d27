package inbox

import (
	"context"

	"tackfree/pkg/pg"
)

// Forget makes a consumer read all of a producer's events again. It is for handlers to
// whom a repeat changes nothing.
func Forget(ctx context.Context, db *pg.DB, producer string) error {
	return db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		_, _ = tx.Exec(ctx, `DELETE FROM parked WHERE producer = $1`, producer) // put off: its error comes later
		_, err := tx.Exec(ctx, `DELETE FROM applied WHERE producer = $1`, producer)
		return err
	})
}
