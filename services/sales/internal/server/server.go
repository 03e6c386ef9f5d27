// Package server answers SalesService, SetService, ChannelService, ListingService, MarkdownService, PriceAdviceService, HoldService, DepositService, OfferService, TaxService, PaymentService and ReceiptService: it reads the request, lets the domain decide in
// one transaction, keeps the change with its event, and writes the answer.
package server

import (
	"context"
	"fmt"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// Intake is what sales asks of intake.
type Intake interface {
	GetPiece(context.Context, *intakev1.GetPieceRequest, ...grpc.CallOption) (*intakev1.GetPieceResponse, error)
}

// Server implements the services of sales.
type Server struct {
	salesv1.UnimplementedSalesServiceServer
	salesv1.UnimplementedSetServiceServer
	salesv1.UnimplementedChannelServiceServer
	salesv1.UnimplementedListingServiceServer
	salesv1.UnimplementedMarkdownServiceServer
	salesv1.UnimplementedHoldServiceServer
	salesv1.UnimplementedDepositServiceServer
	salesv1.UnimplementedOfferServiceServer
	salesv1.UnimplementedPriceAdviceServiceServer
	salesv1.UnimplementedTaxServiceServer
	salesv1.UnimplementedPaymentServiceServer
	salesv1.UnimplementedReceiptServiceServer
	DB        *pg.DB
	Log       *outbox.Log
	Shop      wire.Shop
	Intake    Intake
	Prospects Prospects
	Photos    Photos
	Stages    Stages

	learned learned
}

// Register serves all of them.
func (s *Server) Register(r grpc.ServiceRegistrar) {
	salesv1.RegisterSalesServiceServer(r, s)
	salesv1.RegisterSetServiceServer(r, s)
	salesv1.RegisterChannelServiceServer(r, s)
	salesv1.RegisterListingServiceServer(r, s)
	salesv1.RegisterMarkdownServiceServer(r, s)
	salesv1.RegisterHoldServiceServer(r, s)
	salesv1.RegisterDepositServiceServer(r, s)
	salesv1.RegisterOfferServiceServer(r, s)
	salesv1.RegisterPriceAdviceServiceServer(r, s)
	salesv1.RegisterTaxServiceServer(r, s)
	salesv1.RegisterPaymentServiceServer(r, s)
	salesv1.RegisterReceiptServiceServer(r, s)
}

// piece asks intake, before the transaction. Between the answer and the commit the piece
// can still be scrapped; the books then show both.
//
// Its error is for the transaction to return: a command that was done gets the answer it
// got, also when intake is away or the piece was scrapped since.
func (s *Server) piece(ctx context.Context, piece id.ID) (sales.Piece, error) {
	p, _, err := s.pieceAndClient(ctx, piece)
	return p, err
}

// pieceAndClient also says whose piece it is; empty: the shop's.
func (s *Server) pieceAndClient(ctx context.Context, piece id.ID) (p sales.Piece, client string, err error) {
	r, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: id.Name("pieces", piece)})
	if err != nil {
		return p, "", err
	}
	return s.pieceOf(piece, r.GetPiece()), r.GetPiece().GetCommission().GetClient(), nil
}

// pieceOf is what intake says of a piece.
func (s *Server) pieceOf(piece id.ID, p *intakev1.Piece) sales.Piece {
	return sales.Piece{
		ID: piece, Tag: p.GetTag(), Scrapped: p.GetState() == intakev1.Piece_STATE_SCRAPPED, Commission: p.GetCommission() != nil,
		TakenInAt: p.GetTakenInTime().AsTime().In(s.Shop.Zone)}
}

// append writes the event that made the listing's present version.
func (s *Server) append(ctx context.Context, tx *pg.Tx, l sales.Listing, at, now time.Time, payload proto.Message) error {
	return s.Log.Append(ctx, tx, outbox.Event{
		Kind: "listing", Aggregate: l.Piece, Version: l.Version, Piece: l.Piece, OccurredAt: at, Payload: payload}, now)
}

// GetListing implements SalesService.
func (s *Server) GetListing(ctx context.Context, r *salesv1.GetListingRequest) (*salesv1.GetListingResponse, error) {
	piece, err := id.One("name", r.Name, "listings")
	if err != nil {
		return nil, err
	}
	var l sales.Listing
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		l, err = store.New(q).Get(ctx, piece)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &salesv1.GetListingResponse{Listing: s.encode(l)}, nil
}

// after is where a page of the list begins: by tag, and by piece should two have one tag.
type after struct {
	Tag   int32
	Piece id.ID
}

// ListListings implements SalesService.
func (s *Server) ListListings(ctx context.Context, r *salesv1.ListListingsRequest) (*salesv1.ListListingsResponse, error) {
	var from after
	if err := page.Read(r.PageToken, &from); err != nil {
		return nil, err
	}
	only := make([]id.ID, len(r.Pieces))
	for i, name := range r.Pieces {
		var err error
		if only[i], err = id.One(fmt.Sprintf("pieces[%d]", i), name, "pieces"); err != nil {
			return nil, err
		}
	}
	size := page.Size(r.PageSize)
	var listings []sales.Listing
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		listings, err = store.New(q).List(ctx, from.Tag, from.Piece, only, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &salesv1.ListListingsResponse{
		NextPageToken: page.Next(listings, size, func(l sales.Listing) any { return after{l.Tag, l.Piece} })}
	for _, l := range listings {
		out.Listings = append(out.Listings, s.encode(l))
	}
	return out, nil
}
