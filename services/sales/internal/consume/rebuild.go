package consume

import (
	"context"
	"maps"
	"slices"

	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/sales/internal/store"
)

// Keeper notes the past anew from the producers' logs.
type Keeper struct {
	DB        *pg.DB
	Inbox     *inbox.Inbox
	Producers map[string]eventsv1.EventLogServiceClient
}

// Rebuild forgets the past and reads the logs of all producers from their beginning. What arrives
// meanwhile is applied in its turn. Where it ends in the middle it is begun again.
func (k *Keeper) Rebuild(ctx context.Context) error {
	if err := k.forget(ctx); err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(k.Producers)) {
		if err := inbox.EachPage(ctx, k.Producers[name], &eventsv1.ListEventsRequest{}, k.Inbox.Book); err != nil {
			return err
		}
	}
	return nil
}

// forget takes back what was applied, with how far that was, while nobody applies more.
func (k *Keeper) forget(ctx context.Context) error {
	return k.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		k.Inbox.Freeze(ctx, tx)
		for _, statement := range []string{`DELETE FROM applied`, `DELETE FROM parked`, `UPDATE dead SET resolved_at = now() WHERE resolved_at IS NULL`} {
			_, _ = tx.Exec(ctx, statement) // put off: its error comes at the commit
		}
		return store.New(tx).ForgetPast(ctx)
	})
}
