// Package titles knows what pieces are called, which the floor does not.
//
//	board, clocks: pieces/{id} ─▶ Book ─▶ Piece (title, kind, whose)
//	                               └ those it has not met: intake, one by one or all at once
//
// What a piece is called is said when it is taken in and never changes, and everybody in the shop may
// read it; so a copy of the gateway may keep it.
package titles

import (
	"context"
	"errors"
	"strings"
	"sync"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// Piece is what people call a piece by.
type Piece struct {
	Tag    int32
	Title  string
	Kind   string
	Client string // empty: it was bought for stock
	Source string // of a stock piece
}

// Book keeps the titles that were asked for, those of 50,000 pieces at most. The zero Book is empty.
type Book struct {
	mu   sync.Mutex
	kept map[string]Piece
}

const (
	most     = 50_000
	fewAsked = 8    // so many are asked for one by one
	pageSize = 1000 // the most that intake gives at once
)

// Of gives what pieces, pieces/{id}, are called. Of one that intake does not know there is nothing.
func (b *Book) Of(ctx context.Context, intake intakev1.IntakeServiceClient, names []string) (map[string]Piece, error) {
	found, missing := b.find(names)
	if len(missing) == 0 {
		return found, nil
	}
	var err error
	if len(missing) <= fewAsked {
		err = b.ask(ctx, intake, missing)
	} else {
		_, err = b.All(ctx, intake)
	}
	if err != nil {
		return nil, err
	}
	found, _ = b.find(names)
	return found, nil
}

// All reads every piece, the lowest tag first.
func (b *Book) All(ctx context.Context, intake intakev1.IntakeServiceClient) ([]*intakev1.Piece, error) {
	all, err := clients.All(ctx, func(ctx context.Context, token string) ([]*intakev1.Piece, string, error) {
		r, err := intake.ListPieces(ctx, &intakev1.ListPiecesRequest{PageSize: pageSize, PageToken: token})
		return r.GetPieces(), r.GetNextPageToken(), err
	})
	b.keep(all...)
	return all, err
}

func (b *Book) ask(ctx context.Context, intake intakev1.IntakeServiceClient, names []string) error {
	asking, ctx := errgroup.WithContext(ctx)
	for _, name := range names {
		asking.Go(func() error {
			r, err := intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: name})
			if errors.Is(err, fault.NotFound) {
				return nil
			}
			if err == nil {
				b.keep(r.Piece)
			}
			return err
		})
	}
	return asking.Wait()
}

func (b *Book) find(names []string) (found map[string]Piece, missing []string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	found = make(map[string]Piece, len(names))
	for _, name := range names {
		if p, ok := b.kept[name]; ok {
			found[name] = p
		} else {
			missing = append(missing, name)
		}
	}
	return found, missing
}

func (b *Book) keep(pieces ...*intakev1.Piece) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.kept == nil || len(b.kept) > most {
		b.kept = map[string]Piece{}
	}
	for _, p := range pieces {
		b.kept[p.Name] = Of(p)
	}
}

// Of is what intake says of a piece.
func Of(p *intakev1.Piece) Piece {
	return Piece{Tag: p.Tag, Title: p.Title, Kind: p.Kind, Client: p.GetCommission().GetClient(), Source: p.GetPurchase().GetSource()}
}

// PieceOf gives the piece, pieces/{id}, of one of its stages, pieces/{id}/stages/{id}.
func PieceOf(stage string) string {
	piece, _, _ := strings.Cut(stage, "/stages/")
	return piece
}
