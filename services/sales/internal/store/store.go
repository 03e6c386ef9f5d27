// Package store keeps listings, their sales and the refunds in Postgres, the selling terms, and what was
// noted of the past for price advice. Row types never leave it.
package store

import (
	"context"
	"embed"
	"errors"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store/storedb"
)

// Migrations are the service's own tables.
//
//go:embed migrations/*.sql
var Migrations embed.FS

// Constraints are the faults behind the constraints of the tables.
var Constraints = pg.Constraints{
	"sale_open_once": fault.New(fault.Precondition, "PIECE_SOLD",
		"The piece is already sold. If it came back, refund that sale with the piece returned first."),
	"sale_price_above_zero": fault.New(fault.Invalid, "PRICE_ZERO", "A sale needs a price above zero.").At("price"),
	"sale_fee_within_price": fault.New(fault.Invalid, "FEE_ABOVE_PRICE",
		"The channel cannot keep more than the price of the sale.").At("fee"),
	"sale_tax_within_price": fault.New(fault.Invalid, "TAX_ABOVE_PRICE",
		"A sales tax is never more than the price it is on.").At("tax"),
	"sale_refunded_within": fault.New(fault.Precondition, "REFUND_ABOVE_SALE",
		"The refund gives back more than is left of the sale; read the sale again."),
	"refund_of_something": fault.New(fault.Invalid, "REFUND_OF_NOTHING", "The refund gives nothing back.").At("price"),
	"refund_returns_once": fault.New(fault.Precondition, "SALE_ALREADY_RETURNED",
		"The piece of this sale has already come back; refund the money alone.").At("piece_returned"),
	"tax_place_named_once": fault.New(fault.Precondition, "TAX_PLACE_STATED",
		"Somebody stated this place at the same moment; read the list of places, and state it again if it is not as it should be.").At("display_name"),
	"channel_minimum_within_most": fault.New(fault.Invalid, "FEE_MINIMUM_ABOVE_MOST",
		"The least that the channel keeps is above the most.").At("fees.minimum"),
	"hold_open_once": fault.New(fault.Precondition, "PIECE_HELD",
		"The piece is held for somebody else already; look it up in the list of holds."),
	"deposit_spent_within": fault.New(fault.Precondition, "DEPOSIT_ABOVE_HELD", "So much is not held of this deposit any more; look up what is left of it.").At("amount"),
	"sale_deposit_within": fault.New(fault.Precondition, "DEPOSIT_ABOVE_PRICE",
		"More was given as a deposit than price and tax of the piece come to; give back what is too much, then sell.").At("price"),
	"selling_belief_once": fault.New(fault.Invalid, "KIND_TWICE", "A kind of piece is said twice; say once what it brings.").At("terms.beliefs"),
	"selling_belief_upright": fault.New(fault.Invalid, "GUESS_UPSIDE_DOWN",
		"The low price must be above zero and not above the high one.").At("terms.beliefs"),
}

// Store reads and writes listings in one transaction, or reads outside one.
type Store struct{ q *storedb.Queries }

// New makes a store over a transaction or a view.
func New(q pg.Querier) Store { return Store{storedb.New(q)} }

// LockOrMake reads the listing of a piece, making it when there is none, and keeps
// others from changing it until the transaction ends. Of two that make it at once the
// second waits for the first and reads what that one wrote.
func (s Store) LockOrMake(ctx context.Context, p sales.Piece) (sales.Listing, error) {
	if err := s.q.MakeListing(ctx, toRow(sales.New(p))); err != nil {
		return sales.Listing{}, err
	}
	return s.Lock(ctx, p.ID)
}

// Lock reads the listing of a piece and keeps others from changing it until the
// transaction ends. The lock is a statement before the reading one, which therefore sees
// what the lock was waited for. Fault: LISTING_NOT_FOUND.
func (s Store) Lock(ctx context.Context, piece id.ID) (sales.Listing, error) {
	if err := s.q.LockListing(ctx, piece); err != nil {
		return sales.Listing{}, err
	}
	return s.Get(ctx, piece)
}

// LockOfSale is Lock for the piece of a sale. Fault: SALE_NOT_FOUND.
func (s Store) LockOfSale(ctx context.Context, sale id.ID) (sales.Listing, error) {
	piece, err := s.pieceOfSale(ctx, sale)
	if err != nil {
		return sales.Listing{}, err
	}
	return s.Lock(ctx, piece)
}

func (s Store) pieceOfSale(ctx context.Context, sale id.ID) (id.ID, error) {
	piece, err := s.q.PieceOfSale(ctx, sale)
	if errors.Is(err, pgx.ErrNoRows) {
		err = sales.ErrNoSale
	}
	return piece, err
}

// Get reads the listing of a piece. Fault: LISTING_NOT_FOUND.
func (s Store) Get(ctx context.Context, piece id.ID) (sales.Listing, error) {
	rows, err := s.q.GetListing(ctx, piece)
	if err != nil {
		return sales.Listing{}, err
	}
	if len(rows) == 0 {
		return sales.Listing{}, fault.New(fault.NotFound, "LISTING_NOT_FOUND", "This piece was never listed or sold; list it first.")
	}
	all, err := s.withTerms(ctx, fromRows(rows))
	return all[0], err
}

// List reads up to limit listings after one with that tag and piece, by tag; only those of some pieces,
// if any are named.
func (s Store) List(ctx context.Context, afterTag int32, afterPiece id.ID, only []id.ID, limit int32) ([]sales.Listing, error) {
	if only == nil {
		only = []id.ID{} // null is no list to the database, and not an empty one
	}
	all, err := s.list(ctx, storedb.ListListingsParams{AfterTag: afterTag, AfterPiece: afterPiece, OfPieces: only, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	return s.withTerms(ctx, all)
}

// ListOffered is List of what is for sale now.
func (s Store) ListOffered(ctx context.Context, afterTag int32, afterPiece id.ID, limit int32) ([]sales.Listing, error) {
	return s.list(ctx, storedb.ListListingsParams{AfterTag: afterTag, AfterPiece: afterPiece, OfPieces: []id.ID{}, OnlyListed: true, PageLimit: limit})
}

func (s Store) list(ctx context.Context, of storedb.ListListingsParams) ([]sales.Listing, error) {
	rows, err := s.q.ListListings(ctx, of)
	if err != nil {
		return nil, err
	}
	same := make([]storedb.GetListingRow, len(rows))
	for n, row := range rows {
		same[n] = storedb.GetListingRow(row)
	}
	return fromRows(same), nil
}

// Update writes what a command may change of a listing itself; once that is over, so is the markdown plan.
func (s Store) Update(ctx context.Context, l sales.Listing) error {
	others := l.Others
	if others == nil {
		others = []string{}
	}
	err := s.q.UpdateListing(ctx, storedb.UpdateListingParams{
		PieceID: l.Piece, State: string(l.State), Channel: l.Channel, AskingPrice: int64(l.AskingPrice), Version: l.Version,
		OtherChannels: others, WithdrawnAt: orNil(l.Withdrawn.At), WithdrawReason: l.Withdrawn.Reason})
	if err != nil || l.State == sales.Listed {
		return err
	}
	return s.q.EndMarkdownPlan(ctx, l.Piece)
}

// InsertSale writes the listing's newest sale. Faults at commit: PIECE_SOLD, PRICE_ZERO,
// FEE_ABOVE_PRICE, TAX_ABOVE_PRICE.
func (s Store) InsertSale(ctx context.Context, l sales.Listing) error {
	sale := l.Sales[len(l.Sales)-1]
	err := errors.Join(s.q.InsertSale(ctx, toSaleRow(l.Piece, len(l.Sales), sale)), s.saveTerms(ctx, sale))
	if sale.Of.Set == id.Nil {
		err = errors.Join(err, s.numberReceipt(ctx, sale.ID, id.Nil))
	}
	return err
}

// InsertRefund writes a refund, and its sale as it is after it. Faults at commit:
// REFUND_ABOVE_SALE, REFUND_OF_NOTHING, SALE_ALREADY_RETURNED.
func (s Store) InsertRefund(ctx context.Context, r sales.Refund, sale sales.Sale) error {
	if err := s.q.InsertRefund(ctx, toRefundRow(r)); err != nil {
		return err
	}
	return errors.Join(s.q.UpdateSale(ctx, storedb.UpdateSaleParams{
		ID: sale.ID, PriceRefunded: int64(sale.Refunded.Price), TaxRefunded: int64(sale.Refunded.Tax),
		FeeReturned: int64(sale.Refunded.Fee), PieceReturned: sale.PieceReturned}), s.saveDue(ctx, sale))
}
