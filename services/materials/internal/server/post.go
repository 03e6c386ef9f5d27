package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// noting is a command on the shelf of one product, whose locks it holds.
type noting struct {
	shelf  *materials.Shelf
	pieces map[id.ID]*materials.Piece
	now    time.Time
	also   []*noting // what it did to mixes
}

// open locks the shelf of a product with the lots that are named, and the pieces that are to get
// something. Fault: PRODUCT_NOT_FOUND.
func (s *Server) open(ctx context.Context, tx *pg.Tx, now time.Time, product id.ID, named []id.ID, pieces ...id.ID) (*noting, error) {
	shelf, locked, err := store.New(tx).Shelf(ctx, product, named, pieces...)
	if err != nil {
		return nil, err
	}
	shelf.Zone = s.Shop.Zone
	return &noting{shelf: shelf, pieces: locked, now: now}, nil
}

// entry begins an entry; one of which nobody said when it was is after all that was noted.
func (n *noting) entry(ctx context.Context, at time.Time, said *timestamppb.Timestamp) materials.Entry {
	if newest := n.shelf.Product.Newest.At; said == nil && at.Before(newest) {
		at = newest
	}
	return materials.Entry{ID: id.New(), At: at, Actor: caller.Of(ctx).Actor, Recorded: n.now}
}

// post notes entries, and what follows from them for what was mixed of the product.
func (s *Server) post(ctx context.Context, tx *pg.Tx, n *noting, entries ...materials.Entry) error {
	if err := s.note(ctx, tx, n, entries...); err != nil {
		return err
	}
	return s.cascade(ctx, tx, n)
}

// note notes entries, writes what follows from them and tells it: what went to pieces to each of
// them, the rest of the product.
func (s *Server) note(ctx context.Context, tx *pg.Tx, n *noting, entries ...materials.Entry) error {
	st := store.New(tx)
	if n.shelf.Late(entries...) {
		if err := st.Recall(ctx, n.shelf); err != nil {
			return err
		}
	}
	if err := n.shelf.Post(entries...); err != nil {
		return err
	}
	if err := n.lockRecosted(ctx, st); err != nil {
		return err
	}
	facts := n.shelf.Product.Tell(n.facts()...)
	if err := st.SaveShelf(ctx, n.shelf); err != nil {
		return err
	}
	if err := s.noteOily(ctx, st, n.shelf); err != nil {
		return err
	}
	if err := s.tellPieces(ctx, tx, n); err != nil {
		return err
	}
	if err := st.SavePieces(ctx, n.pieces); err != nil {
		return err
	}
	return s.tell(ctx, tx, n.shelf.Product, facts, happened(entries[0]), n.now)
}

// lockRecosted locks the pieces of which something costs something else now.
func (n *noting) lockRecosted(ctx context.Context, st store.Store) error {
	var more []id.ID
	for piece := range n.recosted() {
		if piece != id.Nil && n.pieces[piece] == nil {
			more = append(more, piece)
		}
	}
	if len(more) == 0 {
		return nil
	}
	locked, err := st.LockPieces(ctx, more)
	for piece, p := range locked {
		n.pieces[piece] = p
	}
	return err
}

// recosted are the entries that cost something else now, by their pieces; id.Nil: of none.
func (n *noting) recosted() map[id.ID][]materials.Recost {
	by := map[id.ID][]materials.Recost{}
	for _, r := range n.shelf.Recosted {
		if old, now := r.Cost(); old != now {
			by[r.To.Piece] = append(by[r.To.Piece], r)
		}
	}
	return by
}

// facts are those of the product.
func (n *noting) facts() (facts []materials.Fact) {
	for _, p := range n.shelf.Posted {
		switch p.Purpose {
		case materials.ForDelivery:
			lot, err := n.shelf.Lot(p.Lot)
			if err != nil {
				panic(err) // it was made just now
			}
			facts = append(facts, materials.Received{Lot: lot, Order: p.Order})
		case materials.ForCorrection:
			lot, err := n.shelf.Lot(p.Lot)
			if err != nil {
				panic(err) // it was corrected just now
			}
			facts = append(facts, materials.CostCorrected{Lot: lot.ID, Old: lot.Cost - p.Cost, New: lot.Cost, Reason: p.Reason})
		case materials.ForMixing:
		default:
			if p.To.Piece == id.Nil && (p.Purpose != materials.ForUndo || p.Mix == id.Nil) {
				facts = append(facts, materials.Noted{Posted: p})
			}
		}
	}
	if lines := n.recosted()[id.Nil]; len(lines) > 0 {
		facts = append(facts, materials.Recounted{Lines: lines})
	}
	return facts
}

// happened is when somebody did what an entry says.
func happened(e materials.Entry) time.Time {
	if !e.UndoneAt.IsZero() {
		return e.UndoneAt
	}
	return e.At
}
