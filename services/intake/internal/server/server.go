// Package server answers IntakeService, LotService, PhotoService, ProspectService, ClientService, CommissionService and AssessmentService: it reads the
// request, lets the domain decide in one transaction, keeps the change with its event, and writes the
// answer.
//
//	sighting ─▶ terms and own pieces of the kind ─▶ parts ─┬▶ workflow: hours, needs ─▶ materials: prices ─┐
//	                                                       └▶ sales: price, days, floor ───────────────────┴▶ intake.Question ─▶ advice
//	commission ─▶ workflow: plan, minutes, day; materials: prices ─▶ suggested lines ─▶ estimate, answer, change order
//	   ├─ cancel ─▶ workflow: minutes clocked; materials: cost issued ─▶ what is owed
//	   └─ finish ◀─ sales: its piece was sold since it began, which is the invoice; asked at a command, and by KeepFinished
//	photo ─▶ receive ─▶ clean ─▶ file noted ─▶ album ─▶ photo and event in one transaction
//	                                 └─ no photo shows it for a day ─▶ SweepPhotos ─▶ file gone
package server

import (
	"context"
	"strconv"
	"strings"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// Sales is what intake asks of sales.
type Sales interface {
	GetListing(context.Context, *salesv1.GetListingRequest, ...grpc.CallOption) (*salesv1.GetListingResponse, error)
}

// Server implements all seven services.
type Server struct {
	intakev1.UnimplementedIntakeServiceServer
	intakev1.UnimplementedLotServiceServer
	intakev1.UnimplementedPhotoServiceServer
	intakev1.UnimplementedProspectServiceServer
	intakev1.UnimplementedClientServiceServer
	intakev1.UnimplementedCommissionServiceServer
	intakev1.UnimplementedAssessmentServiceServer
	DB         *pg.DB
	Log        *outbox.Log
	Shop       wire.Shop
	Sales      Sales
	SoldPieces SoldPieces
	Prices     Prices
	Estimates  Estimates
	Finishes   Finishes
	Planning   Planning
	Clocks     Clocks
	Materials  Materials
	Darkroom   *Darkroom
}

// Register serves all seven services.
func (s *Server) Register(r grpc.ServiceRegistrar) {
	intakev1.RegisterIntakeServiceServer(r, s)
	intakev1.RegisterLotServiceServer(r, s)
	intakev1.RegisterPhotoServiceServer(r, s)
	intakev1.RegisterProspectServiceServer(r, s)
	intakev1.RegisterClientServiceServer(r, s)
	intakev1.RegisterCommissionServiceServer(r, s)
	intakev1.RegisterAssessmentServiceServer(r, s)
}

// TakeInPiece implements IntakeService.
func (s *Server) TakeInPiece(ctx context.Context, r *intakev1.TakeInPieceRequest) (*intakev1.TakeInPieceResponse, error) {
	now := s.Shop.Now()
	piece, err := s.decode(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.TakeInPieceResponse, error) {
		p, st := piece, store.New(tx)
		if err := serves(ctx, st, p.ClientRecord); err != nil {
			return nil, err
		}
		if err := st.GiveTag(ctx, &p); err != nil {
			return nil, err
		}
		if err := st.Insert(ctx, p); err != nil {
			return nil, err
		}
		return &intakev1.TakeInPieceResponse{Piece: s.encode(p)}, s.tell(ctx, tx, p, p.TakenInAt, now, s.takenIn(p))
	})
}

// serves refuses a client that is not there, or with whom nothing new is begun; id.Nil is none.
func serves(ctx context.Context, st store.Store, client id.ID) error {
	if client == id.Nil {
		return nil
	}
	c, err := st.LockClient(ctx, client)
	if err == nil {
		err = c.Serves()
	}
	if f := fault.Of(err); f != nil {
		return f.At("commission.client_record")
	}
	return err
}

// tell writes the event that made the piece's present version.
func (s *Server) tell(ctx context.Context, tx *pg.Tx, p intake.Piece, at, now time.Time, payload proto.Message) error {
	return s.Log.Append(ctx, tx, outbox.Event{
		Kind: "piece", Aggregate: p.ID, Version: p.Version, Piece: p.ID, OccurredAt: at, Payload: payload}, now)
}

// ScrapPiece implements IntakeService.
func (s *Server) ScrapPiece(ctx context.Context, r *intakev1.ScrapPieceRequest) (*intakev1.ScrapPieceResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("scrap_time", r.ScrapTime)
	if err != nil {
		return nil, err
	}
	pieceID, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	// Asked before the transaction, judged inside: a command that was done before is
	// answered as it was then, also when sales is away now.
	sold, soldErr := s.sold(ctx, pieceID)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.ScrapPieceResponse, error) {
		if soldErr != nil {
			return nil, soldErr
		}
		st := store.New(tx)
		p, err := st.Lock(ctx, pieceID)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, p.Version); err != nil {
			return nil, err
		}
		p.TakenInAt = p.TakenInAt.In(s.Shop.Zone) // for what a refusal says
		if err := p.Scrap(r.Reason, at, sold); err != nil {
			return nil, err
		}
		if err := st.Update(ctx, p); err != nil {
			return nil, err
		}
		return &intakev1.ScrapPieceResponse{Piece: s.encode(p)}, s.tell(ctx, tx, p, at, now, &eventsv1.PieceScrapped{Reason: r.Reason})
	})
}

// sold asks sales. Between the answer and the commit the piece can still be sold; the
// books then count it as sold and its sheet says what to do.
func (s *Server) sold(ctx context.Context, piece id.ID) (bool, error) {
	l, err := s.listing(ctx, piece)
	return l.GetState() == salesv1.Listing_STATE_SOLD, err
}

// GetShop implements IntakeService.
func (s *Server) GetShop(context.Context, *intakev1.GetShopRequest) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: s.Shop.Currency.Code, TimeZone: s.Shop.Zone.String()}, nil
}

// GetPiece implements IntakeService.
func (s *Server) GetPiece(ctx context.Context, r *intakev1.GetPieceRequest) (*intakev1.GetPieceResponse, error) {
	var p intake.Piece
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		if number, isTag := strings.CutPrefix(r.Name, "pieces/tag:"); isTag {
			tag, err := strconv.ParseInt(number, 10, 32)
			if err != nil {
				return fault.New(fault.Invalid, "INVALID_NAME", "%q is not a tag number.", number).At("name")
			}
			p, err = store.New(q).GetByTag(ctx, int32(tag))
			return err
		}
		pieceID, err := id.One("name", r.Name, "pieces")
		if err != nil {
			return err
		}
		p, err = store.New(q).Get(ctx, pieceID)
		return err
	})
	if f := fault.Of(err); f != nil && f.Reason == "PIECE_NOT_FOUND" {
		return nil, f.At("name")
	}
	if err != nil {
		return nil, err
	}
	return &intakev1.GetPieceResponse{Piece: s.encode(p)}, nil
}

// ListPieces implements IntakeService.
func (s *Server) ListPieces(ctx context.Context, r *intakev1.ListPiecesRequest) (*intakev1.ListPiecesResponse, error) {
	var after int32
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	var client id.ID
	if r.Client != "" {
		var err error
		if client, err = id.One("client", r.Client, "clients"); err != nil {
			return nil, err
		}
	}
	size := page.Size(r.PageSize)
	var pieces []intake.Piece
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		pieces, err = store.New(q).List(ctx, client, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &intakev1.ListPiecesResponse{NextPageToken: page.Next(pieces, size, func(p intake.Piece) any { return p.Tag })}
	for _, p := range pieces {
		out.Pieces = append(out.Pieces, s.encode(p))
	}
	return out, nil
}
