package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

func entry(at time.Time) materials.Entry {
	return materials.Entry{ID: id.New(), At: at, Actor: "Nell", Takes: materials.Fresh, Recorded: at.Add(time.Minute)}
}

// stageOf is some stage of a piece.
func stageOf(piece id.ID) materials.Stage {
	return materials.Stage{ID: id.New(), Piece: piece, Kind: "strip", Pass: 1}
}

// note posts entries on the shelf of a product, as a command does, and keeps what follows.
func note(t testing.TB, db *pg.DB, p *materials.Product, entries ...materials.Entry) *materials.Shelf {
	t.Helper()
	var shelf *materials.Shelf
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) (err error) {
		shelf, err = noting(ctx, store.New(tx), p.ID, entries...)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	*p = shelf.Product
	return shelf
}

func noting(ctx context.Context, st store.Store, product id.ID, entries ...materials.Entry) (*materials.Shelf, error) {
	shelf, pieces, err := opened(ctx, st, product, entries...)
	if err != nil {
		return nil, err
	}
	if shelf.Late(entries...) {
		if err := st.Recall(ctx, shelf); err != nil {
			return nil, err
		}
	}
	if err := shelf.Post(entries...); err != nil {
		return nil, err
	}
	shelf.Product.Tell()
	for _, piece := range pieces {
		piece.Version++
	}
	if err := st.SaveShelf(ctx, shelf); err != nil {
		return nil, err
	}
	return shelf, st.SavePieces(ctx, pieces)
}

// opened locks what a command needs; where something comes back, the issue.
func opened(ctx context.Context, st store.Store, product id.ID, entries ...materials.Entry) (*materials.Shelf, map[id.ID]*materials.Piece, error) {
	if of := entries[0].Of; of != id.Nil {
		_, shelf, pieces, err := st.LockIssue(ctx, product, of)
		return shelf, pieces, err
	}
	var named, to []id.ID
	for _, e := range entries {
		named, to = append(named, e.Lot), append(to, e.To.Piece)
	}
	return st.Shelf(ctx, product, named, to...)
}

// receive notes a delivery that cost 19.99.
func receive(t testing.TB, db *pg.DB, p *materials.Product, amount string, at time.Time) materials.Lot {
	t.Helper()
	e := entry(at)
	e.Cost, e.Supplier = 19_99, "paint store"
	e, err := p.Receive("", e, materials.Packed{Quantity: litres(t, amount)})
	if err != nil {
		t.Fatal(err)
	}
	lot, err := note(t, db, p, e).Lot(e.Lot)
	if err != nil {
		t.Fatal(err)
	}
	return lot
}

// give issues to a piece of its own.
func give(t testing.TB, db *pg.DB, p *materials.Product, at time.Time, amount string) materials.Issue {
	t.Helper()
	return giveTo(t, db, p, id.New(), at, amount)
}

func giveTo(t testing.TB, db *pg.DB, p *materials.Product, piece id.ID, at time.Time, amount string) materials.Issue {
	t.Helper()
	e := entry(at)
	e.To = stageOf(piece)
	e, err := p.Issue(e, litres(t, amount))
	if err != nil {
		t.Fatal(err)
	}
	return materials.Issue{Posted: note(t, db, p, e).Posted[0]}
}

// takeBack takes an issue back an hour after it.
func takeBack(t testing.TB, db *pg.DB, p *materials.Product, i materials.Issue) materials.Issue {
	t.Helper()
	e := entry(i.At.Add(time.Hour))
	e.Reason, e.Actor = "a slip", "Ida"
	e, err := i.TakeBack(e)
	if err != nil {
		t.Fatal(err)
	}
	note(t, db, p, e)
	i.Back = &materials.TakeBack{Reason: e.Reason, At: e.UndoneAt, Actor: e.Actor}
	return i
}

// giveBack returns a part of an issue an hour after it.
func giveBack(t testing.TB, db *pg.DB, p *materials.Product, i materials.Issue, amount string) materials.Posted {
	t.Helper()
	e, err := p.Return(i, entry(i.At.Add(time.Hour)), litres(t, amount))
	if err != nil {
		t.Fatal(err)
	}
	return note(t, db, p, e).Posted[0]
}

// unbalanced counts products that are not the sum of their movements, or of their lots, and lots
// that are not the sum of theirs; by first in, first out.
const unbalanced = `
WITH moved AS (SELECT product_id, sum(quantity) AS quantity, sum(cost) AS cost FROM movement GROUP BY product_id),
     of_lot AS (SELECT lot_id, sum(quantity) AS quantity, sum(cost) AS cost FROM movement GROUP BY lot_id),
     held AS (SELECT product_id, sum(quantity_left) AS quantity, sum(cost_left) AS cost FROM lot GROUP BY product_id)
SELECT (SELECT count(*) FROM product p LEFT JOIN moved m ON m.product_id = p.id WHERE (p.on_hand, p.value) <> (coalesce(m.quantity, 0), coalesce(m.cost, 0)))
    + (SELECT count(*) FROM product p LEFT JOIN held h ON h.product_id = p.id WHERE (p.on_hand, p.value) <> (coalesce(h.quantity, 0), coalesce(h.cost, 0)))
    + (SELECT count(*) FROM lot l LEFT JOIN of_lot m ON m.lot_id = l.id WHERE (l.quantity_left, l.cost_left) <> (coalesce(m.quantity, 0), coalesce(m.cost, 0)))`

func balanced(t testing.TB, db *pg.DB) {
	t.Helper()
	if wrong := number(t, db, unbalanced); wrong != 0 {
		t.Errorf("%d products and lots are not what their movements come to", wrong)
	}
}

// number reads one.
func number(t testing.TB, db *pg.DB, sql string, args ...any) (n int) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error { return q.QueryRow(t.Context(), sql, args...).Scan(&n) })
	if err != nil {
		t.Fatal(err)
	}
	return n
}
