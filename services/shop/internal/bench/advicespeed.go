package bench

import (
	"context"
	"fmt"
	"time"

	"google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/suite"
)

// adviceBench is a shop with a past, and a piece of it that is offered.
type adviceBench struct {
	*suite.Suite
	piece string
}

// adviceSpeed measures how soon a shop that has sold much is advised.
func adviceSpeed(ctx context.Context, o Options, r *Advice) error {
	s, stop, err := start(ctx, o, func(*suite.Options) {})
	if err != nil {
		return err
	}
	defer stop()
	ctx = caller.With(ctx, caller.Caller{Actor: "bench"})
	b := &adviceBench{Suite: s}
	if b.piece, err = b.offered(ctx); err != nil {
		return err
	}
	if err := fillWith(ctx, s, "sales", pastSales(adviceSold)...); err != nil {
		return err
	}
	r.Sold = adviceSold
	for _, measure := range []func(context.Context, Options, *Advice) error{b.purchases, b.askingPrices, b.photo} {
		if err := measure(ctx, o, r); err != nil {
			return err
		}
	}
	return nil
}

// pastSales makes up a past of so many pieces, each listed at one price and sold, as sales keeps it.
func pastSales(n int) []string {
	const piece = `('00000000-0000-7000-8000-' || lpad(i::text, 12, '0'))::uuid`
	from := fmt.Sprintf(`FROM generate_series(1, %d) AS i`, n)
	return []string{
		`INSERT INTO past_piece (piece_id, tag, title, origin, kind, size, condition, look, changed)
			SELECT ` + piece + `, 10000 + i, 'Piece ' || i, 'stock', (ARRAY['dresser','table','chair','cabinet','bench','desk','bed','shelf'])[1 + i % 8],
			(ARRAY['small','medium','large'])[1 + i % 3], (ARRAY['sound','worn','damaged'])[1 + i % 3], (ARRAY['painted','stained','clear'])[1 + i % 3], 1 ` + from,
		`INSERT INTO past_stretch (piece_id, spell, stretch, channel, asked, from_at, to_at, ended, changed)
			SELECT ` + piece + `, 1, 1, (ARRAY['showroom','market'])[1 + i % 2], 20000 + (i * 7919) % 40000, now() - make_interval(days => 20 + i % 1500), now() - make_interval(days => i % 20), 'sold', 1 ` + from,
		`INSERT INTO past_sale (sale_id, piece_id, spell, channel, sold_at, price, changed)
			SELECT ` + piece + `, ` + piece + `, 1, (ARRAY['showroom','market'])[1 + i % 2], now() - make_interval(days => i % 20), 20000 + (i * 7919) % 40000, 1 ` + from,
		`UPDATE past_stamp SET n = n + 1`,
	}
}

func cents(n int64) *money.Money {
	return &money.Money{CurrencyCode: "USD", Units: n / 100, Nanos: int32(n % 100 * 10_000_000)}
}

// offered takes a piece in and lists it.
func (b *adviceBench) offered(ctx context.Context) (string, error) {
	in, err := b.Shop.Intake.TakeInPiece(ctx, &intakev1.TakeInPieceRequest{RequestId: id.New().String(), Title: "Oak dresser", Kind: "dresser", Size: typev1.PieceSize_PIECE_SIZE_MEDIUM,
		Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: cents(40_00), Source: "auction"}}, Parts: []*intakev1.Part{{Label: "top", Count: 1}}})
	if err != nil {
		return "", err
	}
	_, err = b.Shop.Sales.CreateListing(ctx, &salesv1.CreateListingRequest{RequestId: id.New().String(), Piece: in.Piece.Name, Channel: "showroom", AskingPrice: cents(420_00)})
	return in.Piece.Name, err
}

// asked gives how long each of some questions took.
func asked(o Options, ask func() error) (took []time.Duration, err error) {
	for until := time.Now().Add(time.Duration(o.Rounds) * o.Slice); len(took) < 20 || time.Now().Before(until); {
		began := time.Now()
		if err := ask(); err != nil {
			return nil, err
		}
		took = append(took, time.Since(began))
	}
	return took, nil
}

func (b *adviceBench) purchases(ctx context.Context, o Options, r *Advice) error {
	q := &intakev1.AdvisePurchaseRequest{TargetPerHour: cents(15_00), Chance: adviceChance, Sighting: &intakev1.Sighting{Kind: "dresser", Size: typev1.PieceSize_PIECE_SIZE_MEDIUM,
		Material: "solid wood", OldFinish: "alkyd or oil varnish", PaintedIn: 1995, Look: "paint", AskingPrice: cents(60_00)}}
	took, err := asked(o, func() error {
		_, err := b.Shop.Prospects.AdvisePurchase(ctx, q)
		return err
	})
	if err != nil {
		return err
	}
	r.PurchaseP50ms, r.PurchaseP99ms = percentile(took, 0.5), percentile(took, 0.99)
	return nil
}

func (b *adviceBench) askingPrices(ctx context.Context, o Options, r *Advice) error {
	ask := func() error {
		_, err := b.Shop.Prices.AdvisePrice(ctx, &salesv1.AdvisePriceRequest{Piece: b.piece})
		return err
	}
	took, err := asked(o, ask)
	if err != nil {
		return err
	}
	r.PriceP50ms, r.PriceP99ms = percentile(took, 0.5), percentile(took, 0.99)
	if err := fillWith(ctx, b.Suite, "sales", `UPDATE past_sale SET price = price + 100, changed = (SELECT n + 1 FROM past_stamp) WHERE price = (SELECT max(price) FROM past_sale)`,
		`UPDATE past_stamp SET n = n + 1`); err != nil {
		return err
	}
	began := time.Now()
	err = ask()
	r.AnewMs = float64(time.Since(began).Microseconds()) / 1000
	return err
}
