package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// cascade gives mixes another cost where what went into them has one now, and goes on to the
// mixes that these went into, until nothing changes any more: what goes into a mix is older than
// what comes of it, so that ends. It is last in a command, for it reads anew what the command wrote.
func (s *Server) cascade(ctx context.Context, tx *pg.Tx, done ...*noting) error {
	for len(done) > 0 {
		changed := remixed(done)
		done = nil
		for _, mix := range inOrder(changed) {
			n, err := s.recostMix(ctx, tx, mix, changed[mix])
			if err != nil {
				return err
			}
			done = append(done, n)
		}
	}
	return nil
}

// remixed is how much more mixes cost, by what went into them.
func remixed(done []*noting) map[id.ID]recosting {
	more := map[id.ID]recosting{}
	for _, n := range done {
		for _, r := range n.shelf.Recosted {
			old, now := r.Cost()
			if r.Kind == materials.WentOut && r.Purpose == materials.ForMixing && old != now {
				m := more[r.Mix]
				more[r.Mix] = recosting{m.more + now - old, n}
			}
		}
	}
	for mix, r := range more {
		if r.more == 0 {
			delete(more, mix)
		}
	}
	return more
}

// recosting is how much more something costs, and by which command.
type recosting struct {
	more money.Amount
	by   *noting
}

func (s *Server) recostMix(ctx context.Context, tx *pg.Tx, mix id.ID, r recosting) (*noting, error) {
	m, err := store.New(tx).Mix(ctx, mix)
	if err != nil {
		return nil, err
	}
	n, err := s.open(ctx, tx, r.by.now, m.Product.ID, []id.ID{m.Lot.ID})
	if err != nil {
		return nil, err
	}
	e := n.entry(ctx, m.Lot.ReceivedAt, nil)
	e.Kind, e.Purpose, e.Lot, e.At, e.Cost, e.Mix = materials.CostAdded, materials.ForMixing, m.Lot.ID, m.Lot.ReceivedAt, r.more, mix
	if err := s.note(ctx, tx, n, e); err != nil {
		return nil, err
	}
	r.by.also = append(r.by.also, n)
	return n, nil
}
