package inbox

import (
	"context"

	"tackfree/pkg/pg"
)

// Forget makes the consumer whose schema is db's read all of a producer's events again; a booking
// in work is waited for, or it would write again where it has come to. It is for handlers to whom a
// repeat changes nothing.
func Forget(ctx context.Context, db *pg.DB, schema, producer string) error {
	return db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		freeze(ctx, tx, schema)
		_, _ = tx.Exec(ctx, `DELETE FROM parked WHERE producer = $1`, producer) // put off: its error comes later
		_, err := tx.Exec(ctx, `DELETE FROM applied WHERE producer = $1`, producer)
		return err
	})
}
