package live

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/caller"
	"tackfree/pkg/clients"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// stream is a stream of answers that a test sends.
type stream[R any] struct {
	grpc.ClientStream
	ctx  context.Context
	sent chan *R
}

func (s stream[R]) Recv() (*R, error) {
	select {
	case <-s.ctx.Done():
		return nil, s.ctx.Err()
	case r, ok := <-s.sent:
		if !ok {
			return nil, io.EOF
		}
		return r, nil
	}
}

// floor is a floor that notes as whom it was watched, and from where.
type floor struct {
	workflowv1.FloorServiceClient
	sent    chan *workflowv1.WatchFloorResponse
	mu      sync.Mutex
	watched []string
}

func (f *floor) WatchFloor(ctx context.Context, r *workflowv1.WatchFloorRequest, _ ...grpc.CallOption) (grpc.ServerStreamingClient[workflowv1.WatchFloorResponse], error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.watched = append(f.watched, caller.Of(ctx).Token+" from "+r.Position)
	return stream[workflowv1.WatchFloorResponse]{ctx: ctx, sent: f.sent}, nil
}

func (f *floor) asWhom() []string {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Clone(f.watched)
}

type stock struct {
	materialsv1.RestockServiceClient
	sent chan *materialsv1.WatchAlertsResponse
}

func (s stock) WatchAlerts(ctx context.Context, _ *materialsv1.WatchAlertsRequest, _ ...grpc.CallOption) (grpc.ServerStreamingClient[materialsv1.WatchAlertsResponse], error) {
	return stream[materialsv1.WatchAlertsResponse]{ctx: ctx, sent: s.sent}, nil
}

type money struct {
	costingv1.AnswerServiceClient
	sent chan *costingv1.WatchShopResponse
}

func (m money) WatchShop(ctx context.Context, _ *costingv1.WatchShopRequest, _ ...grpc.CallOption) (grpc.ServerStreamingClient[costingv1.WatchShopResponse], error) {
	return stream[costingv1.WatchShopResponse]{ctx: ctx, sent: m.sent}, nil
}

// rig is a hub with what it watches.
type rig struct {
	*Hub
	floor *floor
	stock stock
	money money
}

func newRig(t *testing.T) *rig {
	t.Helper()
	r := &rig{floor: &floor{sent: make(chan *workflowv1.WatchFloorResponse)}, stock: stock{sent: make(chan *materialsv1.WatchAlertsResponse)}, money: money{sent: make(chan *costingv1.WatchShopResponse)}}
	r.Hub = New(&Hub{Suite: &clients.Suite{Floor: r.floor, Restock: r.stock, Answers: r.money}, Logger: slog.New(slog.DiscardHandler),
		Borrow: func(ctx context.Context, secret string) (context.Context, bool) {
			return caller.With(ctx, caller.Caller{Token: secret}), true
		}})
	ctx, stop := context.WithCancel(t.Context())
	var running sync.WaitGroup
	running.Go(func() { r.Run(ctx) })
	t.Cleanup(func() {
		stop()
		running.Wait()
	})
	return r
}

// open is a browser that listens; leave closes it.
func (r *rig) open(t *testing.T, secret string, role typev1.Role) (lines chan string, leave func()) {
	t.Helper()
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, q *http.Request) {
		if err := r.serveAs(w, &web.Asked{Request: q, User: web.User{Role: role}}, secret); err != nil {
			t.Error(err)
		}
	}))
	resp, err := http.Get(server.URL) //nolint:bodyclose // leave closes it
	if err != nil {
		t.Fatal(err)
	}
	lines = make(chan string, 100)
	go func() {
		defer close(lines)
		b := make([]byte, 4096)
		for {
			n, err := resp.Body.Read(b)
			if err != nil {
				return
			}
			for line := range strings.Lines(string(b[:n])) {
				if strings.HasPrefix(line, "event: ") {
					lines <- strings.TrimSpace(strings.TrimPrefix(line, "event: "))
				}
			}
		}
	}()
	leave = sync.OnceFunc(func() {
		_ = resp.Body.Close()
		server.CloseClientConnections()
		server.Close()
	})
	t.Cleanup(leave)
	return lines, leave
}

func hears(t *testing.T, lines chan string, want string) {
	t.Helper()
	select {
	case got := <-lines:
		if got != want {
			t.Fatalf("told of %q, want %q", got, want)
		}
	case <-time.After(5 * time.Second):
		t.Fatalf("not told of %s", want)
	}
}

func TestHub_TellsEachWhatTheyMayKnow(t *testing.T) {
	r := newRig(t)
	helper, _ := r.open(t, "helpers", typev1.Role_ROLE_HELPER)
	owner, _ := r.open(t, "owners", typev1.Role_ROLE_OWNER)
	r.floor.sent <- &workflowv1.WatchFloorResponse{Position: "1"}
	hears(t, helper, "floor")
	hears(t, owner, "floor")
	r.stock.sent <- &materialsv1.WatchAlertsResponse{Position: "1"}
	hears(t, owner, "stock")
	r.money.sent <- &costingv1.WatchShopResponse{}
	hears(t, owner, "money")
	r.floor.sent <- &workflowv1.WatchFloorResponse{Position: "2"}
	hears(t, helper, "floor") // and nothing of stock and money before it
}

// Nobody's right is used when nobody is there; when its lender leaves, the watch goes on by another's from
// where it was.
func TestHub_WatchesByTheRightOfWhoeverIsThere(t *testing.T) {
	r := newRig(t)
	if got := r.floor.asWhom(); len(got) > 0 {
		t.Fatalf("watched as %v before anybody came", got)
	}
	_, leave := r.open(t, "nells", typev1.Role_ROLE_HELPER)
	r.floor.sent <- &workflowv1.WatchFloorResponse{Position: "7"}
	sams, _ := r.open(t, "sams", typev1.Role_ROLE_HELPER)
	leave()
	r.floor.sent <- &workflowv1.WatchFloorResponse{Position: "8"}
	hears(t, sams, "floor")
	if got := r.floor.asWhom(); !slices.Equal(got, []string{"nells from ", "sams from 7"}) {
		t.Errorf("watched as %v", got)
	}
}

// A service that goes away is asked again, and browsers look at everything anew.
func TestHub_GoesOnWhenAServiceComesBack(t *testing.T) {
	r := newRig(t)
	helper, _ := r.open(t, "helpers", typev1.Role_ROLE_HELPER)
	r.floor.sent <- &workflowv1.WatchFloorResponse{Position: "7"}
	hears(t, helper, "floor")
	close(r.floor.sent)
	hears(t, helper, "floor")
	if got := r.floor.asWhom(); len(got) == 0 {
		t.Error("nobody watches")
	}
}
