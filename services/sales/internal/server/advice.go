package server

import (
	"cmp"
	"context"

	"google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	moneypkg "tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/sales/internal/advice"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// AdviseSale implements PriceAdviceService.
func (s *Server) AdviseSale(ctx context.Context, r *salesv1.AdviseSaleRequest) (*salesv1.AdviseSaleResponse, error) {
	guess, err := s.decodeGuess("guess", r.Guess)
	if err != nil {
		return nil, err
	}
	now, t := s.Shop.Now(), r.GetTraits()
	model, err := s.model(ctx, now)
	if err != nil {
		return nil, err
	}
	piece := advice.Piece{Kind: wire.NameKey(t.GetKind()), Size: sizes[t.GetSize()], Condition: conditions[t.GetCondition()], Look: wire.NameKey(t.GetLook())}
	f, err := model.Forecast(advice.Question{Piece: piece, Channel: wire.NameKey(t.GetChannel()), Guess: guess, Now: now})
	if err != nil {
		return nil, err
	}
	terms := model.Terms()
	return &salesv1.AdviseSaleResponse{Forecast: s.encodeForecast(f), HoldingPerDay: s.Shop.ToMoney(terms.Holding(piece.Size)), FeePercent: terms.FeePercent,
		HorizonDays: terms.Horizon, Salvage: s.Shop.ToMoney(model.Salvage(f)), HoldingSaidOf: sizesBy[terms.HoldingSaidOf(piece.Size)]}, nil
}

var sizes = map[typev1.PieceSize]string{
	typev1.PieceSize_PIECE_SIZE_SMALL: "small", typev1.PieceSize_PIECE_SIZE_MEDIUM: "medium", typev1.PieceSize_PIECE_SIZE_LARGE: "large",
}

var conditions = map[typev1.PieceCondition]string{
	typev1.PieceCondition_PIECE_CONDITION_SOUND: "sound", typev1.PieceCondition_PIECE_CONDITION_WORN: "worn", typev1.PieceCondition_PIECE_CONDITION_DAMAGED: "damaged",
}

// AdvisePrice implements PriceAdviceService.
func (s *Server) AdvisePrice(ctx context.Context, r *salesv1.AdvisePriceRequest) (*salesv1.AdvisePriceResponse, error) {
	a, o, err := s.advise(ctx, r)
	if err != nil {
		return nil, err
	}
	return s.encodeAdvice(a, o.running), nil
}

// advise reckons advice, and says of how the piece is offered it is.
func (s *Server) advise(ctx context.Context, r *salesv1.AdvisePriceRequest) (a advice.Advice, o offer, err error) {
	pieceID, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return a, o, err
	}
	q := advice.Question{Channel: wire.NameKey(r.Channel), Now: s.Shop.Now()}
	if q.Guess, err = s.decodeGuess("guess", r.Guess); err != nil {
		return a, o, err
	}
	trying, err := s.decodeTrying(r.Trying)
	if err != nil {
		return a, o, err
	}
	o, err = s.offered(ctx, pieceID)
	if err != nil {
		return a, o, err
	}
	model, err := s.model(ctx, q.Now)
	if err != nil {
		return a, o, err
	}
	q.Piece, q.Channel = o.piece, cmp.Or(q.Channel, o.channel)
	if q.Guess == nil {
		if q.Sighting, err = s.sighting(ctx, pieceID); err != nil {
			return a, o, err
		}
	}
	a, err = model.Advise(q, o.running, trying)
	return a, o, err
}

// decodeTrying reads a price to try; 0: none. Faults: those of money, PRICE_ZERO.
func (s *Server) decodeTrying(m *money.Money) (moneypkg.Amount, error) {
	trying, err := s.Shop.Money("trying", m)
	if err == nil && m != nil && trying == 0 {
		err = fault.New(fault.Invalid, "PRICE_ZERO", "A price to try must be above zero.").At("trying")
	}
	return trying, err
}

// offer is a piece and how it is offered now.
type offer struct {
	piece   advice.Piece
	running advice.Running // zero: it is not listed
	channel string         // folded; empty: it is not listed
	version int64          // of the listing; zero: it never was
}

// offered is a piece that can be offered; of one that was not heard of yet intake is asked. Faults:
// PIECE_NOT_FOUND, PIECE_SCRAPPED, PIECE_SOLD, PIECE_IS_COMMISSION.
func (s *Server) offered(ctx context.Context, piece id.ID) (o offer, err error) {
	known, listing, err := s.stands(ctx, piece, &o)
	if err == nil && known.Origin == "" {
		known, err = s.unheard(ctx, known)
	}
	if err != nil {
		return o, err
	}
	listing.Tag = known.Tag
	o.piece = known.Piece
	return o, listing.Offerable(sales.Piece{ID: piece, Tag: known.Tag, Scrapped: known.Scrapped, Commission: known.Origin == store.Commission})
}

// stands reads what was noted of a piece and its listing, and how it is offered.
func (s *Server) stands(ctx context.Context, piece id.ID, o *offer) (known store.PastPiece, listing sales.Listing, err error) {
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if known, err = st.PastPiece(ctx, piece); err != nil {
			return err
		}
		if listing, err = st.Get(ctx, piece); err != nil && !fault.Is(err, "LISTING_NOT_FOUND") {
			return err
		}
		o.running, err = st.Running(ctx, piece)
		return err
	})
	o.version = listing.Version
	if listing.State != sales.Listed {
		o.running = advice.Running{}
		return known, listing, err
	}
	o.channel, o.running.Asked = wire.NameKey(listing.Channel), listing.AskingPrice
	return known, listing, err
}

// unheard asks intake about a piece of which no event has come yet; how it is to look may have been
// heard before. Fault: PIECE_NOT_FOUND.
func (s *Server) unheard(ctx context.Context, known store.PastPiece) (store.PastPiece, error) {
	r, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: id.Name("pieces", known.ID)})
	if err != nil {
		return known, err
	}
	p := r.GetPiece()
	known.Tag, known.Title, known.Kind = p.GetTag(), p.GetTitle(), wire.NameKey(p.GetKind())
	known.Size, known.Condition = sizes[p.GetSize()], conditions[p.GetCondition()]
	known.Scrapped, known.Origin = p.GetState() == intakev1.Piece_STATE_SCRAPPED, store.Stock
	if p.GetCommission() != nil {
		known.Origin = store.Commission
	}
	return known, nil
}
