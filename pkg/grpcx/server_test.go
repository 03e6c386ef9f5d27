package grpcx_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/grpcx"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestServer_ImposesADeadline(t *testing.T) {
	c := tight(t, 8, time.Second, time.Second, intakev1.IntakeService_TakeInPiece_FullMethodName)
	var left time.Duration
	note := func(ctx context.Context) error {
		at, has := ctx.Deadline()
		if left = time.Until(at); !has {
			t.Error("the handler has no deadline")
		}
		return nil
	}
	c.get = note
	c.take = func(ctx context.Context, _ *intakev1.TakeInPieceRequest) error { return note(ctx) }
	if err := c.getPiece(t.Context()); err != nil || left > time.Second {
		t.Errorf("a read: %s left, %v; want at most 1 s", left, err)
	}
	if _, err := c.intake.TakeInPiece(by(t, "Nell"), chair()); err != nil || left < 5*time.Second || left > 10*time.Second {
		t.Errorf("a long method: %s left, %v; want up to 10 s", left, err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 500*time.Millisecond)
	defer cancel()
	if err := c.getPiece(ctx); err != nil || left > 500*time.Millisecond {
		t.Errorf("with a deadline of the caller: %s left, %v; want at most 500 ms", left, err)
	}
}

func TestServer_ValidationListsEveryField(t *testing.T) {
	c := setup(t)
	r := chair()
	r.RequestId, r.Title, r.Parts = "one", "", []*intakev1.Part{{Label: "seat"}, {Label: "", Count: 201}}
	_, err := c.intake.TakeInPiece(by(t, "Nell"), r)
	f := fault.Of(err)
	if f == nil || f.Kind != fault.Invalid || f.Reason != "INVALID_FIELD" {
		t.Fatalf("err = %v, want INVALID_FIELD", err)
	}
	var paths []string
	for _, field := range f.Fields {
		paths = append(paths, field.Path)
		if !strings.Contains(f.Text, fault.Sentence(field.Path, field.Text)) {
			t.Errorf("the text %q does not tell of %s: %s", f.Text, field.Path, field.Text)
		}
	}
	slices.Sort(paths)
	if want := []string{"parts[1].count", "parts[1].label", "request_id", "title"}; !slices.Equal(paths, want) {
		t.Errorf("fields = %v, want %v", paths, want)
	}
}

// The rules that many contracts share speak in their own words.
func TestServer_SharedRules(t *testing.T) {
	c := setup(t)
	r := chair()
	r.RequestId = "one"
	_, err := c.intake.TakeInPiece(by(t, "Nell"), r)
	if f := fault.Of(err); f == nil || f.Text != "The request id must be a UUID made by the caller for this one command." {
		t.Errorf("err = %v", err)
	}
	for want, change := range map[string]func(*intakev1.TakeInPieceRequest){
		"The origin is missing; give one of these: purchase, commission.": func(r *intakev1.TakeInPieceRequest) { r.Origin = nil },
		"The price is missing.": func(r *intakev1.TakeInPieceRequest) {
			r.Origin = &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Source: "auction"}}
		},
		"The condition is missing, or is none of those that can be chosen.":             func(r *intakev1.TakeInPieceRequest) { r.Condition = 99 },
		"The tag must be greater than or equal to 0 and less than or equal to 9999999.": func(r *intakev1.TakeInPieceRequest) { r.Tag = -1 },
	} {
		r := chair()
		change(r)
		_, err := c.intake.TakeInPiece(by(t, "Nell"), r)
		if f := fault.Of(err); f == nil || f.Text != want {
			t.Errorf("err = %v, want %q", err, want)
		}
	}
	for kind, ok := range map[string]bool{
		"sand": true, "topcoat_coat": true, "coat2": true, strings.Repeat("a", 40): true,
		"": false, "Sand": false, "top coat": false, "_sand": false, "sand_": false, "2sand": false, strings.Repeat("a", 41): false,
	} {
		_, err := c.routes.SaveRoute(by(t, "Nell"), route(&workflowv1.Step{Key: "first", Kind: kind}))
		said := strings.Contains(fmt.Sprint(err), "The kind of steps, number 1, must be lower-case words joined by underscores, such as topcoat_coat")
		if said == ok {
			t.Errorf("kind %q: %v", kind, err)
		}
	}
}

// route is a command with one step.
func route(step *workflowv1.Step) *workflowv1.SaveRouteRequest {
	step.Scope = workflowv1.Step_SCOPE_PART
	return &workflowv1.SaveRouteRequest{RequestId: chair().RequestId, Route: &workflowv1.Route{Name: "routes/painted", Steps: []*workflowv1.Step{step}}}
}

// No database keeps the character NUL in text.
func TestServer_TextWithNUL(t *testing.T) {
	c := setup(t)
	for path, step := range map[string]*workflowv1.Step{
		"route.steps[0].skill":    {Key: "a", Kind: "sand", Skill: "a\x00b"},
		"route.steps[0].after[1]": {Key: "a", Kind: "sand", After: []string{"b", "\x00"}},
	} {
		_, err := c.routes.SaveRoute(by(t, "Nell"), route(step))
		if f := fault.Of(err); f == nil || f.Reason != "INVALID_FIELD" || f.Fields[0].Path != path {
			t.Errorf("NUL in %s: %v, want INVALID_FIELD there", path, err)
		}
	}
	c.get = func(context.Context) error { return nil }
	if _, err := c.intake.GetPiece(t.Context(), &intakev1.GetPieceRequest{Name: "pieces/\x00"}); !fault.Is(err, "INVALID_FIELD") {
		t.Errorf("NUL in a name: %v, want INVALID_FIELD", err)
	}
	if err := c.getPiece(t.Context()); err != nil {
		t.Errorf("without NUL: %v", err)
	}
}

func TestServer_Actor(t *testing.T) {
	c := setup(t)
	var got caller.Caller
	c.take = func(ctx context.Context, _ *intakev1.TakeInPieceRequest) error {
		got = caller.Of(ctx)
		return nil
	}
	for _, name := range []string{"Nell", "José Núñez", "李梅", "100% Ana / Bo", strings.Repeat("ж", 100)} {
		r := chair()
		ctx := caller.With(t.Context(), caller.Caller{Actor: name, TraceParent: "00-a-b-01", TraceState: "k=v"})
		if _, err := c.intake.TakeInPiece(ctx, r); err != nil || got != (caller.Caller{Actor: name, Role: typev1.Role_ROLE_OWNER, RequestID: r.RequestId, TraceParent: "00-a-b-01", TraceState: "k=v"}) {
			t.Errorf("caller = %+v, %v; want %s", got, err, name)
		}
	}
	for what, escaped := range map[string]string{
		"Nobody": "", "TooLong": strings.Repeat("a", 101), "NUL": "Nell%00", "NewLine": "Nell%0AAna", "NotText": "%ff",
	} {
		ctx := metadata.AppendToOutgoingContext(t.Context(), grpcx.ActorKey, escaped)
		_, err := intakev1.NewIntakeServiceClient(c.raw).TakeInPiece(ctx, chair())
		if !fault.Is(grpcx.FaultOf(err), "ACTOR_MISSING") || status.Code(err) != codes.InvalidArgument {
			t.Errorf("%s: %v, want ACTOR_MISSING", what, err)
		}
	}
	c.get = func(context.Context) error { return nil }
	if err := c.getPiece(t.Context()); err != nil {
		t.Errorf("a read by nobody: %v", err)
	}
}

// What is no trace context would spoil the event that carries it. The first is the
// example of the W3C recommendation Trace Context.
func TestServer_DropsOddTraces(t *testing.T) {
	for in, want := range map[string]string{
		"00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01": "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01",
		"\xff\xfe": "", "Ö": "", "a\x00b": "", strings.Repeat("x", 513): "", "": "",
	} {
		if got := grpcx.TraceOf(in); got != want {
			t.Errorf("trace of %q = %q, want %q", in, got, want)
		}
	}
}

// Beyond its places a server says so at once; its health is always answered.
func TestServer_TooBusy(t *testing.T) {
	c := tight(t, 2, 5*time.Second, time.Second)
	working, finish := make(chan struct{}, 2), make(chan struct{})
	c.get = func(context.Context) error {
		working <- struct{}{}
		<-finish
		return nil
	}
	var done sync.WaitGroup
	for range 2 {
		done.Go(func() {
			if err := c.getPiece(t.Context()); err != nil {
				t.Errorf("a call with a place: %v", err)
			}
		})
		<-working
	}
	if err := c.getPiece(t.Context()); !fault.Is(err, "TOO_BUSY") || !errors.Is(err, fault.Exhausted) {
		t.Errorf("a call too many = %v, want TOO_BUSY", err)
	}
	if h, err := healthv1.NewHealthClient(c.conn).Check(t.Context(), &healthv1.HealthCheckRequest{}); err != nil || h.Status != healthv1.HealthCheckResponse_SERVING {
		t.Errorf("health of a busy server = %v, %v", h, err)
	}
	close(finish)
	done.Wait()
	if err := c.getPiece(t.Context()); err != nil {
		t.Errorf("a call after the rush: %v", err)
	}
}

// A call in flight at shutdown is finished; one that never ends does not hold it up.
func TestServer_Stop(t *testing.T) {
	t.Run("FinishesCalls", func(t *testing.T) {
		c := tight(t, 8, 5*time.Second, 5*time.Second)
		working, finish := make(chan struct{}), make(chan struct{})
		c.get = func(context.Context) error {
			close(working)
			<-finish
			return nil
		}
		answer := make(chan error, 1)
		go func() { answer <- c.getPiece(t.Context()) }()
		<-working
		stopped := make(chan struct{})
		go func() {
			c.stop()
			close(stopped)
		}()
		eventually(t, "the server says that it does not serve", func() bool {
			h, err := c.server.Health.Check(t.Context(), &healthv1.HealthCheckRequest{})
			return err == nil && h.Status == healthv1.HealthCheckResponse_NOT_SERVING
		})
		close(finish)
		if err := <-answer; err != nil {
			t.Errorf("the call in flight: %v", err)
		}
		<-stopped
	})
	t.Run("CutsWhatHangs", func(t *testing.T) {
		c := tight(t, 8, 5*time.Second, 50*time.Millisecond)
		c.watch = func(ctx context.Context, send func() error) error {
			err := send()
			<-ctx.Done()
			return err
		}
		s, err := c.costing.WatchPieceCost(t.Context(), &costingv1.WatchPieceCostRequest{Piece: "pieces/1"})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.Recv(); err != nil {
			t.Fatal(err)
		}
		began := time.Now()
		c.stop()
		if d := time.Since(began); d < 50*time.Millisecond || d > 3*time.Second {
			t.Errorf("the stop took %s, want its grace of 50 ms", d)
		}
		if _, err := s.Recv(); !errors.Is(err, fault.Unavailable) {
			t.Errorf("the stream ended with %v, want Unavailable", err)
		}
	})
}

// eventually polls until ok, for at most ten seconds.
func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); !ok(); time.Sleep(2 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("never happened: %s", what)
		}
	}
}

// Calls that failed before they reached anybody are made again.
func TestDial_TriesAgain(t *testing.T) {
	c := setup(t)
	calls := 0
	c.get = func(context.Context) error {
		if calls++; calls < 3 {
			return fault.New(fault.Unavailable, "DATABASE_UNAVAILABLE", "The database cannot be reached.")
		}
		return nil
	}
	if err := c.getPiece(t.Context()); err != nil || calls != 3 {
		t.Errorf("%d calls, %v; want the third to be answered", calls, err)
	}
	calls = 0
	c.get = func(context.Context) error {
		calls++
		return fault.New(fault.Conflict, "CONTENTION", "Try again.")
	}
	if err := c.getPiece(t.Context()); calls != 1 || !fault.Is(err, "CONTENTION") {
		t.Errorf("%d calls, %v; a conflict is for the caller to judge", calls, err)
	}
}

func TestServer_LimitsTheSizeOfARequest(t *testing.T) {
	c := setup(t)
	r := chair()
	r.Title = strings.Repeat("x", 2<<20)
	_, err := c.intake.TakeInPiece(by(t, "Nell"), r, grpc.MaxCallSendMsgSize(8<<20))
	if status.Code(err) != codes.ResourceExhausted || proto.Size(r) < 2<<20 {
		t.Errorf("a request of %d bytes = %v, want ResourceExhausted", proto.Size(r), err)
	}
}
