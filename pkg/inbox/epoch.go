package inbox

import (
	"context"
	"slices"

	"tackfree/pkg/pg"
)

// otherEpoch is the error of events that come from another epoch of their producer's log
// than the one last seen: from before a restore, or from after one not yet noticed. Their
// versions may have been issued twice, so only the log itself can tell what holds.
type otherEpoch struct{ events []Event }

func (otherEpoch) Error() string { return "events of another epoch of their producer's log" }

// vouched splits off what another epoch says. A producer that was never compared with is
// believed.
func (b batch) vouched(epochs map[string]string) (ours batch, foreign []Event) {
	elsewhere := func(e Event) bool {
		known := epochs[e.Producer]
		return known != "" && e.log != "" && e.log != known
	}
	strange := false
	for _, events := range b.events {
		strange = strange || slices.ContainsFunc(events, elsewhere)
	}
	if !strange {
		return b, nil
	}
	ours.events = make(map[key][]Event, len(b.events))
	for _, k := range b.keys {
		for _, e := range b.events[k] {
			if elsewhere(e) {
				foreign = append(foreign, e)
			} else {
				ours.events[k] = append(ours.events[k], e)
			}
		}
		if len(ours.events[k]) > 0 || len(b.events[k]) == 0 {
			ours.keys = append(ours.keys, k)
		}
	}
	return ours, foreign
}

// ask brings the aggregates of foreign events up to what their producer's log says now.
func (in *Inbox) ask(ctx context.Context, foreign []Event) error {
	for _, k := range sorted(foreign).keys {
		if err := in.mend(ctx, k); err != nil {
			return err
		}
	}
	return nil
}

// restored takes back what a producer said before its restore. Until that is done it is
// noted; from now on the old epoch is not believed any more.
func (in *Inbox) restored(ctx context.Context, producer, epoch string) error {
	in.logger.WarnContext(ctx, "producer was restored from a backup", "producer", producer)
	err := in.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		in.Freeze(ctx, tx)
		_, _ = tx.Exec(ctx, `UPDATE source SET epoch = $2, restoring = true WHERE producer = $1`, producer, epoch)
		_, _ = tx.Exec(ctx, `DELETE FROM parked WHERE producer = $1`, producer)
		_, err := tx.Exec(ctx, `UPDATE dead SET resolved_at = now() WHERE producer = $1 AND resolved_at IS NULL`, producer)
		return err
	})
	if err != nil {
		return err
	}
	if err := in.handler.Restored(ctx, producer); err != nil {
		return err
	}
	return in.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, `UPDATE source SET restoring = false WHERE producer = $1`, producer)
		return err
	})
}
