package server

import (
	"context"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// UndoEntry implements StockService. An order whose delivery is undone expects it again.
func (s *Server) UndoEntry(ctx context.Context, r *materialsv1.UndoEntryRequest) (*materialsv1.UndoEntryResponse, error) {
	now := s.Shop.Now()
	ids, err := id.FromName("entry", r.Entry, "products", "entries")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.UndoEntryResponse, error) {
		old, err := store.New(tx).LockEntry(ctx, ids[0], ids[1])
		if err != nil {
			return nil, err
		}
		n, err := s.open(ctx, tx, now, ids[0], nil, old.To.Piece)
		if err != nil {
			return nil, err
		}
		e := n.entry(ctx, now, nil)
		e.At, e.Reason = now, r.Reason
		if e, err = old.Undo(e); err != nil {
			return nil, err
		}
		if err := s.unfulfil(ctx, tx, old, now); err != nil {
			return nil, err
		}
		if err := s.post(ctx, tx, n, e); err != nil {
			return nil, err
		}
		return &materialsv1.UndoEntryResponse{Product: s.encode(n.shelf.Product), Recostings: s.encodeRecosted(n)}, nil
	})
}

// unfulfil has an order expect again what did not come after all.
func (s *Server) unfulfil(ctx context.Context, tx *pg.Tx, old materials.Entry, now time.Time) error {
	if old.Order == id.Nil {
		return nil
	}
	st := store.New(tx)
	o, err := st.LockOrder(ctx, old.Order)
	if err != nil {
		return err
	}
	first, err := st.FirstArrival(ctx, old)
	if err != nil {
		return err
	}
	facts := o.Unreceive(old.Line, old.Quantity, first)
	if err := st.SaveOrder(ctx, o); err != nil {
		return err
	}
	return s.tellOrder(ctx, tx, o, facts, now, now)
}

// UndoMix implements MixService. All its products are locked by id.
func (s *Server) UndoMix(ctx context.Context, r *materialsv1.UndoMixRequest) (*materialsv1.UndoMixResponse, error) {
	now := s.Shop.Now()
	mixID, err := id.One("name", r.Name, "mixes")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.UndoMixResponse, error) {
		m, err := store.New(tx).Mix(ctx, mixID)
		if err != nil {
			return nil, err
		}
		all, err := s.unmix(ctx, tx, m, r.Reason, now)
		if err != nil {
			return nil, err
		}
		undone, recostings, err := s.mixed(ctx, tx, mixID, all)
		if err != nil {
			return nil, err
		}
		return &materialsv1.UndoMixResponse{Mix: undone, Recostings: recostings}, s.Log.Append(ctx, tx, outbox.Event{Kind: "mix", Aggregate: mixID, Version: 2, OccurredAt: now,
			Payload: &eventsv1.MixUndone{MixId: mixID.String(), Reason: r.Reason}}, now)
	})
}

var mixUndone = fault.New(fault.Precondition, "MIX_UNDONE", "That mix was undone; it never was.").At("name")

// unmix undoes what came of a mix and what went into it, each on the shelf of its product.
func (s *Server) unmix(ctx context.Context, tx *pg.Tx, m store.Mix, reason string, now time.Time) ([]*noting, error) {
	entries := map[id.ID]materials.Entry{m.Product.ID: {ID: m.Mix.Lot, At: m.At, Quantity: m.Quantity}}
	for _, p := range m.Parts {
		entries[p.Product.ID] = p.Posted.Entry
	}
	var all []*noting
	for _, product := range inOrder(entries) {
		n, err := s.open(ctx, tx, now, product, nil)
		if err != nil {
			return nil, err
		}
		if _, err := store.New(tx).LockEntry(ctx, product, entries[product].ID); fault.Is(err, "ENTRY_UNDONE") {
			return nil, mixUndone
		} else if err != nil {
			return nil, err
		}
		e := n.entry(ctx, now, nil)
		e.At, e.Reason = now, reason
		if err := s.note(ctx, tx, n, m.Undo(entries[product], e)); err != nil {
			return nil, err
		}
		all = append(all, n)
	}
	return all, nil
}
