package consume

import (
	"context"

	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	"tackfree/services/sales/internal/store"
)

// Keeper notes the past anew from the producers' logs.
type Keeper struct{ Inbox *inbox.Inbox }

// Rebuild forgets the past and reads the logs again, as Inbox.Again does.
func (k *Keeper) Rebuild(ctx context.Context) error {
	return k.Inbox.Again(ctx, func(ctx context.Context, tx *pg.Tx) error { return store.New(tx).ForgetPast(ctx) })
}
