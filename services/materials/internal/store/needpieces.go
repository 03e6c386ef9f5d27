package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// PieceNeeds reads what pieces need and what that follows from. Of a piece that was not heard of
// yet there is nothing but its id.
func (s Store) PieceNeeds(ctx context.Context, pieces []id.ID) (map[id.ID]*materials.PieceNeeds, error) {
	out := make(map[id.ID]*materials.PieceNeeds, len(pieces))
	for _, piece := range pieces {
		out[piece] = &materials.PieceNeeds{Piece: piece, Needs: map[materials.NeedKey]materials.Need{}}
	}
	known, err := s.q.GetNeedPieces(ctx, pieces)
	if err != nil {
		return nil, err
	}
	for _, row := range known {
		p := out[row.NeedPiece.PieceID]
		p.PlannedAt, p.PromisedAt, p.SoldAt = orZero(row.NeedPiece.PlannedAt), orZero(row.NeedPiece.PromisedAt), orZero(row.NeedPiece.SoldAt)
		p.Stopped = row.NeedPiece.Stopped
		if err := json.Unmarshal(row.NeedPiece.Stages, &p.Stages); err != nil {
			return nil, fmt.Errorf("stored stages of piece %s: %w", p.Piece, err)
		}
	}
	needs, err := s.q.NeedsOfPieces(ctx, pieces)
	for _, row := range needs {
		n := fromNeedRow(row.Need)
		out[n.Piece].Needs[n.NeedKey] = n
	}
	return out, err
}

// LockNeeds keeps others from changing needs, and from learning what they really take, until the
// transaction ends.
func (s Store) LockNeeds(ctx context.Context) error {
	return s.q.LockNeeds(ctx, pg.LockID("materials", "needs"))
}

// SavePieceNeeds writes them, and of the needs those that became otherwise. How much they really
// take is worked out by SetQuantities.
func (s Store) SavePieceNeeds(ctx context.Context, p *materials.PieceNeeds) error {
	stages, err := json.Marshal(p.Stages)
	if err != nil {
		return err
	}
	err = s.q.SaveNeedPiece(ctx, storedb.SaveNeedPieceParams{
		PieceID: p.Piece, PlannedAt: unlessZero(p.PlannedAt), PromisedAt: unlessZero(p.PromisedAt), Stopped: p.Stopped, SoldAt: unlessZero(p.SoldAt), Stages: stages})
	for _, n := range p.Touched() {
		err = errors.Join(err, s.q.SaveNeed(ctx, storedb.SaveNeedParams{
			StageID: n.Stage, ProductID: n.Product, Pass: n.Pass, PieceID: n.Piece, StageTitle: n.Title, StageKind: n.Kind, Method: n.Method, Unit: n.Unit, Planned: n.Planned,
			WantedAt: n.Soonest, SecondsTo: int64(n.Work / time.Second), LatestAt: unlessZero(n.Latest), State: string(n.State), NotedAt: n.NotedAt, DoneAt: unlessZero(n.DoneAt)}))
	}
	return err
}

// SetQuantities makes what open needs take what the shop really takes for what was planned. It
// gives the products of which that is now another amount.
func (s Store) SetQuantities(ctx context.Context) ([]id.ID, error) {
	return s.q.SetQuantities(ctx, id.Nil)
}

// UsageNoted takes the methods of finished stages of which something was written down since it was
// last asked.
func (s Store) UsageNoted(ctx context.Context) ([]string, error) { return s.q.TakeUsageNoted(ctx) }

// Learn works out anew what the shop really takes of what is put on by some methods. It is called
// under LockNeeds.
func (s Store) Learn(ctx context.Context, methods []string) error {
	if len(methods) == 0 {
		return nil
	}
	taken, err := s.Taken(ctx, methods)
	if err != nil {
		return err
	}
	learned, err := materials.Usual.Learn(taken)
	if err != nil {
		return err
	}
	return s.SaveFactors(ctx, methods, learned)
}

// Taken reads what finished stages took of products beside what was planned, of those that were
// put on by some methods, or by all if nil.
func (s Store) Taken(ctx context.Context, methods []string) ([]materials.Taken, error) {
	rows, err := s.q.Taken(ctx, methods)
	if err != nil {
		return nil, err
	}
	taken := make([]materials.Taken, len(rows))
	for n, row := range rows {
		taken[n] = materials.Taken{Applied: materials.Applied{Product: row.ProductID, Method: row.Method}, Planned: row.Planned, Actual: row.Quantity}
	}
	return taken, nil
}

// SaveFactors writes what was learned of products that are put on by some methods, in place of
// what was known before.
func (s Store) SaveFactors(ctx context.Context, methods []string, learned map[materials.Applied]materials.Usage) error {
	err := s.q.ForgetFactors(ctx, methods)
	for _, u := range learned {
		if slices.Contains(methods, u.Method) {
			err = errors.Join(err, s.q.SaveFactor(ctx, storedb.SaveFactorParams{ProductID: u.Product, Method: u.Method, Factor: u.Factor.Exact()}))
		}
	}
	return err
}

// ForgetNeeds empties all that is computed from others' events.
func (s Store) ForgetNeeds(ctx context.Context) error {
	return errors.Join(s.q.ForgetNeeds(ctx), s.q.ForgetNeedPieces(ctx), s.q.ForgetAllFactors(ctx))
}

func fromNeedRow(row storedb.Need) materials.Need {
	return materials.Need{
		NeedKey: materials.NeedKey{Stage: row.StageID, Product: row.ProductID, Pass: row.Pass}, Piece: row.PieceID,
		Title: row.StageTitle, Kind: row.StageKind, Method: row.Method, Unit: row.Unit, Planned: row.Planned, Quantity: row.Quantity,
		Due: due(row.WantedAt, row.SecondsTo, row.LatestAt), State: materials.NeedState(row.State), NotedAt: row.NotedAt.UTC(), DoneAt: orZero(row.DoneAt),
	}
}
