package server_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/boot"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	moneypkg "tackfree/pkg/money"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/consume"
	"tackfree/services/sales/internal/server"
	"tackfree/services/sales/internal/store"
)

// opened is when the shop of these tests began, and today when its advice is asked.
var (
	opened = time.Date(2024, 1, 1, 9, 0, 0, 0, time.UTC)
	today  = time.Date(2026, 2, 2, 15, 0, 0, 0, time.UTC)
)

// advised is sales without a broker: what happened is fed to its consumer by hand, and its handlers are called.
type advised struct {
	*server.Server
	t        testing.TB
	intake   *intakeFake
	handler  consume.Handler
	now      time.Time
	versions map[string]int64
	pending  []inbox.Event
	tags     int32
	// What was seen before it was bought, by name.
	prospects map[string]*intakev1.Prospect
}

// asking is intakeFake as sales asks it.
type asking struct{ *intakeFake }

func (a asking) GetPiece(ctx context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	return a.intakeFake.GetPiece(ctx, r)
}

// GetProspect is intake's, as sales asks it.
func (a *advised) GetProspect(_ context.Context, r *intakev1.GetProspectRequest, _ ...grpc.CallOption) (*intakev1.GetProspectResponse, error) {
	p := a.prospects[r.Name]
	if p == nil {
		return nil, fault.New(fault.NotFound, "PROSPECT_NOT_FOUND", "There is no such prospect.")
	}
	return &intakev1.GetProspectResponse{Prospect: p}, nil
}

func advises(t testing.TB) *advised {
	t.Helper()
	db := pgtest.Open(t, "sales", store.Constraints, once.Migrations(), outbox.Migrations(), inbox.Migrations(), boot.Migrations(store.Migrations))
	log, err := outbox.Open(t.Context(), db, "sales")
	if err != nil {
		t.Fatal(err)
	}
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	a := &advised{t: t, intake: &intakeFake{pieces: map[string]*intakev1.Piece{}}, now: today, versions: map[string]int64{}}
	shop := wire.Shop{Currency: moneypkg.Currency{Code: "USD", Digits: 2}, Zone: zone, Now: func() time.Time { return a.now }}
	a.handler = consume.Handler{Shop: shop}
	a.Server = &server.Server{DB: db, Log: log, Shop: shop, Intake: asking{a.intake}, Prospects: a}
	return a
}

// tell notes an event to be heard.
func (a *advised) tell(producer string, piece id.ID, at time.Time, e *eventsv1.Envelope) {
	k := producer + piece.String()
	a.versions[k]++
	e.EventId, e.Producer, e.Epoch, e.AggregateId, e.PieceId, e.Version = id.New().String(), producer, "one", piece.String(), piece.String(), a.versions[k]
	e.OccurredAt, e.RecordedAt = timestamppb.New(at), timestamppb.New(at)
	a.pending = append(a.pending, inbox.Event{Envelope: e, ID: id.New(), Aggregate: piece, Piece: piece})
}

// hear lets the consumer apply what was told, some hundreds at a time.
func (a *advised) hear() {
	a.t.Helper()
	for len(a.pending) > 0 {
		n := min(500, len(a.pending))
		err := a.DB.InTx(a.t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			_, err := inbox.Apply(ctx, tx, a.handler, a.pending[:n])
			return err
		})
		if err != nil {
			a.t.Fatal(err)
		}
		a.pending = a.pending[n:]
	}
}

// own takes a piece of the shop's own in.
func (a *advised) own(kind, size, look string, at time.Time) id.ID {
	piece := id.New()
	a.tags++
	a.intake.set(&intakev1.Piece{Name: id.Name("pieces", piece), Tag: a.tags, Kind: kind, State: intakev1.Piece_STATE_IN_HAND, Origin: &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{}}})
	a.tell("intake", piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: a.tags, Title: "Old " + kind, Kind: kind, Size: size, Condition: "worn",
		Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Price: usd(40)}}}}})
	if look != "" {
		a.tell("workflow", piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_FinishPlanApproved{FinishPlanApproved: &eventsv1.FinishPlanApproved{Look: look}}})
	}
	return piece
}

func (a *advised) puts(piece id.ID, price float64, at time.Time) {
	a.tell("sales", piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceListed{PieceListed: &eventsv1.PieceListed{Channel: "market stall", AskingPrice: usd(int64(price))}}})
}

func (a *advised) marks(piece id.ID, price float64, at time.Time) {
	a.tell("sales", piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_AskingPriceChanged{AskingPriceChanged: &eventsv1.AskingPriceChanged{To: usd(int64(price))}}})
}

// sells tells of a sale; set is id.Nil of a piece by itself.
func (a *advised) sells(piece id.ID, price float64, at time.Time, set id.ID) (sale id.ID) {
	sale = id.New()
	e := &eventsv1.PieceSold{SaleId: sale.String(), Channel: "market stall", Price: usd(int64(price))}
	if set != id.Nil {
		e.SetId = set.String()
	}
	a.tell("sales", piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: e}})
	return sale
}

// The truth of the simulated shop: what a kind brings in the middle in dollars, what a size and a look make of
// that, how far prices scatter, how many sell in a day at the likely price, and by which power of the price.
var (
	kindPrice = map[string]float64{"dresser": 320, "table": 240, "chair": 75}
	sizeTimes = map[string]float64{"small": 0.8, "large": 1.3}
	lookTimes = map[string]float64{"paint": 0.9, "clear": 1.15}
)

const (
	scatter   = 0.2
	dayChance = 1.0 / 35
	power     = -2.5
)

func likelyOf(kind, size, look string) float64 {
	return kindPrice[kind] * sizeTimes[size] * lookTimes[look]
}

// simulate lets a shop sell until it has made so many sales. Each piece stands at a price that is drawn around the
// likely one, a tenth less after a month and again after two; it is sold on a day with the chance that the price leaves, and brings
// what such a piece is worth.
func (a *advised) simulate(sales int, seed uint64) {
	a.t.Helper()
	r := rand.New(rand.NewPCG(seed, 1))
	kinds, sizes, looks := []string{"dresser", "table", "chair"}, []string{"small", "large"}, []string{"paint", "clear"}
	for sold := 0; sold < sales; {
		kind, size, look := kinds[r.IntN(3)], sizes[r.IntN(2)], looks[r.IntN(2)]
		put := opened.Add(time.Duration(r.IntN(700)*24) * time.Hour)
		piece, ratio := a.own(kind, size, look, put), math.Exp(0.25*r.NormFloat64()+0.05)
		a.puts(piece, likelyOf(kind, size, look)*ratio, put)
		for day := 0; ; day++ {
			at := put.Add(time.Duration(day*24+8) * time.Hour)
			if !at.Before(today) {
				break
			}
			if day == 30 || day == 60 {
				ratio *= 0.9
				a.marks(piece, likelyOf(kind, size, look)*ratio, put.Add(time.Duration(day*24)*time.Hour))
			}
			if r.Float64() < 1-math.Exp(-dayChance*math.Pow(ratio, power)) {
				a.sells(piece, likelyOf(kind, size, look)*math.Exp(scatter*r.NormFloat64()), at, id.Nil)
				sold++
				break
			}
		}
	}
	a.hear()
}

// refuses checks that a question is refused.
func refuses[Req, Resp any](t *testing.T, call func(context.Context, Req) (Resp, error), r Req, reason string) *fault.Fault {
	t.Helper()
	_, err := call(t.Context(), r)
	f := fault.Of(err)
	if f == nil || f.Reason != reason {
		t.Errorf("it says %v, want %s", err, reason)
		return &fault.Fault{}
	}
	return f
}

func dollars(m interface {
	GetUnits() int64
	GetNanos() int32
}) float64 {
	return float64(m.GetUnits()) + float64(m.GetNanos())/1e9
}

func guess(low, high int64) *salesv1.Guess { return &salesv1.Guess{Low: usd(low), High: usd(high)} }
