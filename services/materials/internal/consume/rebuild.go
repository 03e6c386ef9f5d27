package consume

import (
	"context"
	"errors"

	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	"tackfree/services/materials/internal/store"
)

// Keeper computes the needs anew from the producers' logs.
type Keeper struct{ Inbox *inbox.Inbox }

// Rebuild forgets the needs and what was worked, and reads the logs again, as Inbox.Again does.
func (k *Keeper) Rebuild(ctx context.Context) error {
	return k.Inbox.Again(ctx, func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		return errors.Join(st.ForgetNeeds(ctx), st.ForgetWork(ctx))
	})
}
