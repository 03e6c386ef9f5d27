package edge_test

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"
	"google.golang.org/grpc/test/bufconn"

	"tackfree/pkg/grpcx"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/edge"
)

// intake is the service as the wire has it.
type intake struct {
	intakev1.UnimplementedIntakeServiceServer
	heard metadata.MD
}

func (i *intake) ScrapPiece(ctx context.Context, _ *intakev1.ScrapPieceRequest) (*intakev1.ScrapPieceResponse, error) {
	i.hear(ctx)
	s, err := status.New(codes.NotFound, "There is no such piece.").WithDetails(&errdetails.ErrorInfo{Reason: "PIECE_NOT_FOUND", Domain: "tackfree"})
	if err != nil {
		return nil, err
	}
	return nil, s.Err()
}

func (i *intake) GetShop(ctx context.Context, _ *intakev1.GetShopRequest) (*intakev1.GetShopResponse, error) {
	i.hear(ctx)
	return &intakev1.GetShopResponse{CurrencyCode: "USD"}, nil
}

func (i *intake) hear(ctx context.Context) {
	i.heard, _ = metadata.FromIncomingContext(ctx)
	_ = grpc.SetHeader(ctx, metadata.Pairs("set-cookie", "session=odile"))
	_ = grpc.SetTrailer(ctx, metadata.Pairs("x-secret", "1"))
}

// wired is an edge before a real connection; stop takes the service away.
func wired(t *testing.T) (h http.Handler, i *intake, stop func()) {
	t.Helper()
	i = &intake{}
	l := bufconn.Listen(1 << 16)
	server := grpc.NewServer()
	intakev1.RegisterIntakeServiceServer(server, i)
	var served sync.WaitGroup
	served.Go(func() { _ = server.Serve(l) })
	stop = func() {
		server.Stop()
		served.Wait()
	}
	t.Cleanup(stop)
	c, err := grpcx.DialIn(l.DialContext)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Close() })
	h, _ = setup(t, func(e *edge.Config) { e.Conns = func(string) (grpc.ClientConnInterface, error) { return c, nil } })
	return h, i, stop
}

// Over the wire goes one access token, and of a client's headers none; of a service's headers none come back.
func TestWire(t *testing.T) {
	h, i, _ := wired(t)
	smuggled := []string{"Grpc-Metadata-Authorization", "Bearer odile", "Grpc-Metadata-Tackfree-Actor", "Odile", "Te", "trailers"}
	refused, answered := ask("POST", "/v1/pieces/7:scrap", aCommand, smuggled...), ask("GET", "/v1/shop", "", smuggled...)
	for _, r := range []*http.Request{refused, answered} {
		w := serve(h, r)
		if r == answered && (w.Code != http.StatusOK || strings.ReplaceAll(w.Body.String(), " ", "") != `{"currencyCode":"USD","timeZone":""}`) {
			t.Errorf("%d %s", w.Code, w.Body)
		}
		if r == refused {
			if p := problemIn(t, w.Body.String()); w.Code != http.StatusNotFound || p.Reason != "PIECE_NOT_FOUND" || p.Message != "There is no such piece." {
				t.Errorf("%d %+v", w.Code, p)
			}
		}
		if got := i.heard.Get("authorization"); !slices.Equal(got, []string{"Bearer access of nell"}) {
			t.Errorf("the service heard %q", got)
		}
		if got := i.heard.Get("tackfree-actor"); strings.Contains(strings.Join(got, ""), "Odile") {
			t.Errorf("the service heard the actor %q", got)
		}
		for header := range w.Header() {
			if !slices.Contains([]string{"Content-Type", "Cache-Control", "X-Content-Type-Options"}, header) {
				t.Errorf("%s: %q came back", header, w.Header()[header])
			}
		}
	}
}

// A command of which nobody knows whether it was done can be given again, and the answer says how.
func TestWire_Unsure(t *testing.T) {
	h, _, stop := wired(t)
	stop()
	w := serve(h, ask("POST", "/v1/pieces/7:scrap", aCommand))
	if p := problemIn(t, w.Body.String()); w.Code != 503 || p.Code != "UNAVAILABLE" || !strings.Contains(p.Message, "give it again with the same requestId") {
		t.Errorf("%d %+v", w.Code, p)
	}
	w = serve(h, ask("GET", "/v1/pieces/7", ""))
	if p := problemIn(t, w.Body.String()); w.Code != 503 || strings.Contains(p.Message, "requestId") {
		t.Errorf("%d %+v", w.Code, p)
	}
}
