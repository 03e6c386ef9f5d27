package grpcx_test

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/test/bufconn"

	"tackfree/pkg/access"
	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/grpcx"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// gate is a shop whose server has a key, reached through its machine and from elsewhere.
type gate struct {
	*shop
	key         *access.Key
	log         *lockedBuffer
	inner, edge *bufconn.Listener

	mu  sync.Mutex
	now time.Time
}

func (g *gate) clock() time.Time {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.now
}

func guarded(t *testing.T) *gate {
	t.Helper()
	g := &gate{shop: &shop{}, log: &lockedBuffer{}, now: time.Now(), inner: bufconn.Listen(1 << 20), edge: bufconn.Listen(1 << 20)}
	var err error
	if g.key, err = access.LoadOrCreate(filepath.Join(t.TempDir(), "access.key")); err != nil {
		t.Fatal(err)
	}
	s, err := grpcx.NewGuarded(slog.New(slog.NewTextHandler(g.log, &slog.HandlerOptions{Level: slog.LevelDebug})), access.NewGuard(g.key, g.clock))
	if err != nil {
		t.Fatal(err)
	}
	intakev1.RegisterIntakeServiceServer(s, g.shop)
	workflowv1.RegisterRouteServiceServer(s, g.shop)
	costingv1.RegisterCostingServiceServer(s, g.shop)
	workflowv1.RegisterFloorServiceServer(s, g.shop)
	ctx, cancel := context.WithCancel(context.Background())
	var done sync.WaitGroup
	done.Go(func() { _ = s.Serve(ctx, grpcx.Local(g.inner), g.edge) })
	t.Cleanup(func() {
		cancel()
		done.Wait()
	})
	return g
}

func (g *gate) dial(t *testing.T, l *bufconn.Listener, o ...grpc.DialOption) *grpc.ClientConn {
	t.Helper()
	conn, err := grpcx.DialIn(func(ctx context.Context) (net.Conn, error) { return l.DialContext(ctx) }, o...)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() })
	return conn
}

func (g *gate) token(t *testing.T, c access.Claims) string {
	t.Helper()
	token, _, err := g.key.Sign(c, g.clock())
	if err != nil {
		t.Fatal(err)
	}
	return token
}

// with is the context of somebody with a token, who says they are somebody else.
func with(t *testing.T, token string) context.Context {
	return caller.With(t.Context(), caller.Caller{Actor: "Mallory", Token: token})
}

func lead() access.Claims {
	return access.Claims{Person: "people/1", Name: "Joss", Session: "sessions/7", Role: typev1.Role_ROLE_LEAD}
}

// Through its own machine a call needs no token and says itself who gives it; from elsewhere it is the token
// that says it.
func TestServer_WhoGivesACommand(t *testing.T) {
	g := guarded(t)
	var got caller.Caller
	g.take = func(ctx context.Context, _ *intakev1.TakeInPieceRequest) error {
		got = caller.Of(ctx)
		return nil
	}
	here, elsewhere := intakev1.NewIntakeServiceClient(g.dial(t, g.inner)), intakev1.NewIntakeServiceClient(g.dial(t, g.edge))
	service := intakev1.NewIntakeServiceClient(g.dial(t, g.edge, grpcx.WithTokens(g.key.ForService("workflow", g.clock))))
	joss := caller.Caller{Actor: "Joss", Person: "people/1", Session: "sessions/7", Role: typev1.Role_ROLE_LEAD}
	machine := caller.Caller{Actor: "Nell", Role: typev1.Role_ROLE_OWNER, Machine: true}
	peer := machine
	for name, c := range map[string]struct {
		client intakev1.IntakeServiceClient
		ctx    context.Context
		want   caller.Caller
	}{
		"here":                        {here, by(t, "Nell"), machine},
		"here with a token":           {here, with(t, g.token(t, lead())), joss},
		"elsewhere with a token":      {elsewhere, with(t, g.token(t, lead())), joss},
		"a service":                   {service, by(t, "Nell"), peer},
		"a service for whom it names": {service, with(t, g.token(t, lead())), joss},
	} {
		r := chair()
		c.want.RequestID = r.RequestId
		if _, err := c.client.TakeInPiece(c.ctx, r); err != nil || got != c.want {
			t.Errorf("%s: %+v, %v; want %+v", name, got, err, c.want)
		}
	}
	if _, err := elsewhere.TakeInPiece(by(t, "Nell"), chair()); !fault.Is(err, "SIGN_IN_NEEDED") || !errors.Is(err, fault.Unauthenticated) {
		t.Errorf("elsewhere without a token: %v", err)
	}
}

// Whoever asks is told what their role is told, in an answer and on a stream; the shop's own machine and services
// are told all, without signing in.
func TestServer_TellsByRole(t *testing.T) {
	g := guarded(t)
	price := &moneyv1.Money{CurrencyCode: "USD", Units: 40}
	g.get = func(context.Context) error { return nil }
	g.piece = &intakev1.Piece{Tag: 1, Origin: &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{Price: price, Source: "a barn sale"}}}
	g.event = &workflowv1.WatchFloorResponse{Event: &eventsv1.Envelope{Payload: &eventsv1.Envelope_SentOut{SentOut: &eventsv1.SentOut{Firm: "Hollow", Quoted: price}}}}
	here, elsewhere := g.dial(t, g.inner), g.dial(t, g.edge)
	service := g.dial(t, g.edge, grpcx.WithTokens(g.key.ForService("costing", g.clock)))
	as := func(role typev1.Role, readOnly bool) context.Context {
		return with(t, g.token(t, access.Claims{Name: "x", Session: "tokens/1", Role: role, ReadOnly: readOnly}))
	}
	for name, c := range map[string]struct {
		conn          *grpc.ClientConn
		ctx           context.Context
		bought, owing bool // they are told what it was bought for, and what others ask for their work
	}{
		"an owner":                  {elsewhere, as(typev1.Role_ROLE_OWNER, false), true, true},
		"an owner's program, reads": {elsewhere, as(typev1.Role_ROLE_OWNER, true), true, true},
		"a lead":                    {elsewhere, as(typev1.Role_ROLE_LEAD, false), false, true},
		"a lead's program, reads":   {elsewhere, as(typev1.Role_ROLE_LEAD, true), false, true},
		"a helper":                  {elsewhere, as(typev1.Role_ROLE_HELPER, false), false, false},
		"a helper's program, reads": {elsewhere, as(typev1.Role_ROLE_HELPER, true), false, false},
		"a helper on the machine":   {here, as(typev1.Role_ROLE_HELPER, false), false, false},
		"nobody on the machine":     {here, by(t, "Nell"), true, true},
		"a service":                 {service, by(t, "Nell"), true, true},
	} {
		r, err := intakev1.NewIntakeServiceClient(c.conn).GetPiece(c.ctx, &intakev1.GetPieceRequest{Name: "pieces/tag:1"})
		if p := r.GetPiece().GetPurchase(); err != nil || (p.GetPrice() != nil) != c.bought || p.GetSource() != "a barn sale" {
			t.Errorf("%s: %v, %v; told the price: want %v", name, r, err, c.bought)
		}
		floor, err := workflowv1.NewFloorServiceClient(c.conn).WatchFloor(c.ctx, &workflowv1.WatchFloorRequest{})
		if err != nil {
			t.Fatal(err)
		}
		told, err := floor.Recv()
		if out := told.GetEvent().GetSentOut(); err != nil || (out.GetQuoted() != nil) != c.owing || out.GetFirm() != "Hollow" {
			t.Errorf("%s: %v, %v; told what it costs: want %v", name, told, err, c.owing)
		}
	}
}

// A token that is none is refused wherever it comes from, and nothing is done.
func TestServer_RefusesTokens(t *testing.T) {
	g := guarded(t)
	g.get = func(context.Context) error { t.Error("it was done"); return nil }
	good := g.token(t, lead())
	for name, header := range map[string][]string{
		"garbage": {"Bearer x.y.z"}, "no scheme": {good}, "another scheme": {"Basic " + good}, "two": {"Bearer " + good, "Bearer " + good},
		"empty": {"Bearer "}, "nothing": {""}, "changed": {"Bearer " + good[:len(good)-4] + "AAAA"},
	} {
		for where, l := range map[string]*bufconn.Listener{"here": g.inner, "elsewhere": g.edge} {
			ctx := metadata.NewOutgoingContext(t.Context(), metadata.MD{grpcx.TokenKey: header})
			_, err := intakev1.NewIntakeServiceClient(g.dial(t, l)).GetPiece(ctx, &intakev1.GetPieceRequest{Name: "pieces/tag:1"})
			if !fault.Is(err, "ACCESS_INVALID") || !errors.Is(err, fault.Unauthenticated) {
				t.Errorf("%s, %s: %v", name, where, err)
			}
		}
	}
	g.mu.Lock()
	g.now = g.now.Add(access.Life + access.Leeway + time.Second)
	g.mu.Unlock()
	_, err := intakev1.NewIntakeServiceClient(g.dial(t, g.edge)).GetPiece(with(t, good), &intakev1.GetPieceRequest{Name: "pieces/tag:1"})
	if !fault.Is(err, "ACCESS_EXPIRED") {
		t.Errorf("one that has ended: %v", err)
	}
	if strings.Contains(g.log.String(), good[20:]) {
		t.Error("a token is in the log")
	}
}

// What may be called is asked before what was typed is looked at; health is told to all.
func TestServer_RefusesByRole(t *testing.T) {
	g := guarded(t)
	g.get = func(context.Context) error { return nil }
	g.take = func(context.Context, *intakev1.TakeInPieceRequest) error { t.Error("it was done"); return nil }
	conn := g.dial(t, g.edge)
	intake := intakev1.NewIntakeServiceClient(conn)
	helper, reader := lead(), lead()
	helper.Role, reader.ReadOnly = typev1.Role_ROLE_HELPER, true
	if _, err := intake.TakeInPiece(with(t, g.token(t, helper)), &intakev1.TakeInPieceRequest{}); !fault.Is(err, "ROLE_TOO_LOW") || !errors.Is(err, fault.Denied) {
		t.Errorf("a helper takes a piece in: %v", err)
	}
	if _, err := intake.TakeInPiece(with(t, g.token(t, reader)), chair()); !fault.Is(err, "READ_ONLY") {
		t.Errorf("who may only read takes a piece in: %v", err)
	}
	if _, err := intake.GetPiece(with(t, g.token(t, reader)), &intakev1.GetPieceRequest{Name: "pieces/tag:1"}); err != nil {
		t.Errorf("who may only read looks at a piece: %v", err)
	}
	if _, err := healthv1.NewHealthClient(conn).Check(t.Context(), &healthv1.HealthCheckRequest{}); err != nil {
		t.Errorf("nobody asks for health: %v", err)
	}
}

// A stream is refused at its beginning, and ends with the token it was begun with.
func TestServer_StreamEndsWithItsToken(t *testing.T) {
	g := guarded(t)
	g.watch = func(ctx context.Context, send func() error) error {
		if err := send(); err != nil {
			return err
		}
		<-ctx.Done()
		return nil // as one that was left
	}
	costing := costingv1.NewCostingServiceClient(g.dial(t, g.edge))
	first := func(ctx context.Context) (grpc.ServerStreamingClient[costingv1.WatchPieceCostResponse], error) {
		s, err := costing.WatchPieceCost(ctx, &costingv1.WatchPieceCostRequest{Piece: "pieces/1"})
		if err != nil {
			return nil, err
		}
		_, err = s.Recv()
		return s, err
	}
	if _, err := first(t.Context()); !fault.Is(err, "SIGN_IN_NEEDED") {
		t.Errorf("nobody watches: %v", err)
	}
	if _, err := first(with(t, g.token(t, lead()))); !fault.Is(err, "ROLE_TOO_LOW") {
		t.Errorf("a lead watches costs: %v", err)
	}
	owner := lead()
	owner.Role = typev1.Role_ROLE_OWNER
	token, expires, err := g.key.Sign(owner, time.Now().Add(-access.Life-access.Leeway+3*time.Second))
	if err != nil {
		t.Fatal(err)
	}
	s, err := first(with(t, token))
	if err != nil {
		t.Fatalf("an owner watches: %v", err)
	}
	_, err = s.Recv()
	if left := time.Until(expires.Add(access.Leeway)); !fault.Is(err, "ACCESS_EXPIRED") || left > 0 {
		t.Errorf("the stream ended with %v, %v before its token", err, left)
	}
}

// Where no token can be had, its own fault says why.
func TestWithTokens_SaysWhyThereIsNone(t *testing.T) {
	g := guarded(t)
	ended := fault.New(fault.Unauthenticated, "SESSION_ENDED", "This session has ended. Sign in again.")
	conn := g.dial(t, g.edge, grpcx.WithTokens(func(context.Context) (string, error) { return "", ended }))
	_, err := intakev1.NewIntakeServiceClient(conn).GetPiece(t.Context(), &intakev1.GetPieceRequest{Name: "pieces/tag:1"})
	if f := fault.Of(err); f == nil || f.Reason != "SESSION_ENDED" || f.Text != ended.Text || f.Kind != fault.Unauthenticated {
		t.Errorf("err = %v", err)
	}
}

func BenchmarkServer_Access(b *testing.B) {
	key, err := access.LoadOrCreate(filepath.Join(b.TempDir(), "access.key"))
	if err != nil {
		b.Fatal(err)
	}
	s := &shop{get: func(context.Context) error { return nil }}
	server, err := grpcx.NewGuarded(slog.New(slog.DiscardHandler), access.NewGuard(key, time.Now))
	if err != nil {
		b.Fatal(err)
	}
	intakev1.RegisterIntakeServiceServer(server, s)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	inner, edge := bufconn.Listen(1<<20), bufconn.Listen(1<<20)
	go func() { _ = server.Serve(ctx, grpcx.Local(inner), edge) }()
	token, _, err := key.Sign(lead(), time.Now())
	if err != nil {
		b.Fatal(err)
	}
	for name, l := range map[string]*bufconn.Listener{"Local": inner, "Token": edge} {
		b.Run(name, func(b *testing.B) {
			conn, err := grpcx.DialIn(l.DialContext)
			if err != nil {
				b.Fatal(err)
			}
			defer conn.Close()
			client, ctx := intakev1.NewIntakeServiceClient(conn), caller.With(b.Context(), caller.Caller{Actor: "Joss"})
			if name == "Token" {
				ctx = caller.With(b.Context(), caller.Caller{Token: token})
			}
			for b.Loop() {
				if _, err := client.GetPiece(ctx, &intakev1.GetPieceRequest{Name: "pieces/tag:1"}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
