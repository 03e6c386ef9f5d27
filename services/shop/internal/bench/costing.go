package bench

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/nats-io/nats.go/jetstream"
	pgxuuid "github.com/vgarvardt/pgx-google-uuid/v5"
	"google.golang.org/grpc"
	"google.golang.org/grpc/test/bufconn"

	"tackfree/pkg/boot"
	"tackfree/pkg/bus"
	"tackfree/pkg/grpcx"
	"tackfree/services/costing/costingsvc"
	"tackfree/services/shop/internal/suite"
)

const (
	costingEvents = 40_000
	costingPieces = 2_000
	standstill    = 30 * time.Second // after which nothing more is to be expected
)

// Costing is the speed of booking events beside the bare writing of the same rows, and beside the
// service's own SQL without the service.
type Costing struct {
	EventsPerS   float64 `json:"events_per_s"`
	BaselinePerS float64 `json:"baseline_per_s"`
	Ratio        float64 `json:"ratio"`
	SameSQLPerS  float64 `json:"same_sql_per_s"`
	SameSQLRatio float64 `json:"same_sql_ratio"`
}

// RunCosting measures the costing service booking a stream that holds many events already,
// decoding, folding and acknowledging included, beside COPY and upsert, from memory and in
// batches of 500, of the very rows it wrote, and beside the very statements that it sent, from
// memory too; in turns on one database.
func RunCosting(ctx context.Context, o Options) (r Costing, err error) {
	return runCosting(ctx, o, costingEvents, costingPieces)
}

func runCosting(ctx context.Context, o Options, events, pieces int) (r Costing, err error) {
	s, stop, err := start(ctx, o, func(so *suite.Options) { so.Only = []string{"costing"} })
	if err != nil {
		return r, err
	}
	defer stop()
	b := &costingBench{suite: s, events: events, pieces: pieces}
	if err := b.open(ctx); err != nil {
		return r, err
	}
	defer b.close()
	if err := b.publish(ctx); err != nil {
		return r, err
	}
	if err := b.warm(ctx); err != nil {
		return r, err
	}
	var booked, base, ratios, same, sameRatios []float64
	for round := range o.Rounds {
		e, err := b.book(ctx)
		if err != nil {
			return r, err
		}
		w, err := b.write(ctx)
		if err != nil {
			return r, err
		}
		p, err := b.replay(ctx)
		if err != nil {
			return r, err
		}
		o.Say("round %d: %.0f events a second booked, %.0f by bare COPY and upsert, ratio %.2f, %.0f by the same SQL from memory, ratio %.2f", round+1, e, w, e/w, p, e/p)
		booked, base, ratios = append(booked, e), append(base, w), append(ratios, e/w)
		same, sameRatios = append(same, p), append(sameRatios, e/p)
	}
	return Costing{EventsPerS: median(booked), BaselinePerS: median(base), Ratio: median(ratios), SameSQLPerS: median(same), SameSQLRatio: median(sameRatios)}, nil
}

type costingBench struct {
	suite          *suite.Suite
	conn           *pgx.Conn
	events, pieces int
	first, last    bus.Message
	rows           *rows             // what the service wrote, by batch
	wrote          map[string]string // fingerprints of the same
	tape           *tape             // what the service sent to write them
}

// warm lets all sides run once and makes sure that they write the same.
func (b *costingBench) warm(ctx context.Context) (err error) {
	if b.tape, err = newTape(b.suite.URL("costing")); err != nil {
		return err
	}
	if _, err := b.timed(ctx, b.serveRecorded); err != nil {
		return err
	}
	b.tape.cut()
	for _, side := range []func(context.Context) (float64, error){b.replay, b.write} {
		if _, err := side(ctx); err != nil {
			return err
		}
		if err := b.same(ctx); err != nil {
			return err
		}
	}
	return nil
}

// replay books by what the service sent.
func (b *costingBench) replay(ctx context.Context) (float64, error) {
	if err := b.clear(ctx); err != nil {
		return 0, err
	}
	took, err := b.tape.play(ctx)
	return float64(b.events) / took.Seconds(), err
}

// serveRecorded starts costing with the tape between it and the database.
func (b *costingBench) serveRecorded(context.Context) (stop func(), err error) {
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	config := boot.Config{DatabaseURL: b.tape.URL(), Currency: b.suite.Currency(), Zone: b.suite.Zone(), Reconcile: time.Hour}
	deps := boot.Deps{Logger: slog.New(slog.DiscardHandler), Bus: b.suite.Bus(), Now: time.Now, Listeners: []net.Listener{bufconn.Listen(1 << 16)},
		Dial: func(string) (grpc.ClientConnInterface, error) { return grpcx.Dial("passthrough:nobody") }}
	go func() {
		defer close(ended)
		_ = costingsvc.Run(ctx, config, deps) // when it cannot, nothing is booked, and the measurement says so
	}()
	return func() {
		cancel()
		<-ended
	}, nil
}

// serve starts costing as it is.
func (b *costingBench) serve(ctx context.Context) (stop func(), err error) {
	return func() { b.suite.StopService("costing") }, b.suite.Restart(ctx, "costing")
}

// open connects to the books.
func (b *costingBench) open(ctx context.Context) (err error) {
	if b.conn, err = pgx.Connect(ctx, b.suite.AdminURL()); err != nil {
		return err
	}
	pgxuuid.Register(b.conn.TypeMap()) // the baseline writes ids as fast as the service does
	_, err = b.conn.Exec(ctx, `SET search_path = costing`)
	return err
}

func (b *costingBench) close() { _ = b.conn.Close(context.Background()) }

// publish fills the stream, while costing is stopped.
func (b *costingBench) publish(ctx context.Context) error {
	b.suite.StopService("costing")
	messages := history(b.events, b.pieces)
	b.first, b.last = messages[0], messages[len(messages)-1]
	for len(messages) > 0 {
		n := min(1000, len(messages))
		if _, err := b.suite.Bus().Publish(ctx, messages[:n]); err != nil {
			return fmt.Errorf("fill the stream: %w", err)
		}
		messages = messages[n:]
	}
	return nil
}

// book books by the service.
func (b *costingBench) book(ctx context.Context) (float64, error) { return b.timed(ctx, b.serve) }

// timed starts costing on empty books and times it from the first events to the last.
func (b *costingBench) timed(ctx context.Context, serve func(context.Context) (func(), error)) (float64, error) {
	if err := b.clear(ctx); err != nil {
		return 0, err
	}
	if err := b.forgetConsumer(ctx); err != nil {
		return 0, err
	}
	stop, err := serve(ctx)
	if err != nil {
		return 0, err
	}
	defer stop()
	if err := waitBooked(ctx, b.conn, b.first); err != nil {
		return 0, err
	}
	n, err := b.applied(ctx)
	if err != nil {
		return 0, err
	}
	began := time.Now()
	if err := waitBooked(ctx, b.conn, b.last); err != nil {
		return 0, err
	}
	took := time.Since(began)
	if all, err := b.applied(ctx); err != nil || all != int64(b.events) {
		return 0, fmt.Errorf("costing has booked %d of %d events, %w", all, b.events, err)
	}
	return float64(int64(b.events)-n) / took.Seconds(), b.remember(ctx)
}

// waitBooked waits until an event is booked. It asks for that event alone: to count them all, again
// and again, would slow down what it waits for.
func waitBooked(ctx context.Context, conn *pgx.Conn, m bus.Message) error {
	for began := time.Now(); time.Since(began) < longest; time.Sleep(2 * time.Millisecond) { // polling the other side of the measurement
		var is bool
		err := conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM costing.applied WHERE producer = $1 AND aggregate_id = $2 AND version >= $3)`,
			m.Producer, m.Aggregate, m.Version).Scan(&is)
		if err != nil || is {
			return err
		}
	}
	return fmt.Errorf("costing has not booked event %s after %s", m.EventID, longest)
}

// remember keeps what the service wrote the first time.
func (b *costingBench) remember(ctx context.Context) (err error) {
	if b.rows != nil {
		return nil
	}
	if b.rows, err = b.read(ctx); err != nil {
		return err
	}
	b.wrote, err = fingerprints(ctx, b.conn)
	return err
}

// applied counts events by the versions that the books have come to.
func (b *costingBench) applied(ctx context.Context) (n int64, err error) {
	err = b.conn.QueryRow(ctx, `SELECT coalesce(sum(version), 0)::bigint FROM applied`).Scan(&n)
	return n, err
}

func (b *costingBench) clear(ctx context.Context) error {
	_, err := b.conn.Exec(ctx, `TRUNCATE applied, parked, dead, posting, stretch, clock, mark, piece`)
	return err
}

// forgetConsumer makes the next one begin at the start of the stream.
func (b *costingBench) forgetConsumer(ctx context.Context) error {
	nc, err := b.suite.Broker()
	if err != nil {
		return err
	}
	defer nc.Close()
	js, err := jetstream.New(nc)
	if err != nil {
		return err
	}
	err = js.DeleteConsumer(ctx, bus.StreamName, "costing")
	if err != nil && !errors.Is(err, jetstream.ErrConsumerNotFound) {
		return fmt.Errorf("forget the consumer: %w", err)
	}
	return nil
}
