package inbox

import (
	"context"
	"maps"
	"slices"

	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// Again takes back all that was applied, with what forget takes back of what followed from it, and reads
// the logs of all producers from their beginning. What arrives meanwhile is applied in its turn. Where
// it ends in the middle it is begun again.
func (in *Inbox) Again(ctx context.Context, forget func(context.Context, *pg.Tx) error) error {
	err := in.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		in.Freeze(ctx, tx)
		for _, statement := range []string{`DELETE FROM applied`, `DELETE FROM parked`, `UPDATE dead SET resolved_at = now() WHERE resolved_at IS NULL`} {
			_, _ = tx.Exec(ctx, statement) // put off: its error comes at the commit
		}
		return forget(ctx, tx)
	})
	if err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(in.producers)) {
		if err := EachPage(ctx, in.producers[name], &eventsv1.ListEventsRequest{}, in.Book); err != nil {
			return err
		}
	}
	return nil
}
