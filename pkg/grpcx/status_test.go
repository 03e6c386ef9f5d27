package grpcx_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/status"

	"tackfree/pkg/fault"
	"tackfree/pkg/grpcx"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

func TestServer_FaultsCrossTheWire(t *testing.T) {
	c := setup(t)
	for kind, code := range map[fault.Kind]codes.Code{
		fault.Invalid: codes.InvalidArgument, fault.NotFound: codes.NotFound, fault.Exists: codes.AlreadyExists,
		fault.Precondition: codes.FailedPrecondition, fault.Conflict: codes.Aborted, fault.Exhausted: codes.ResourceExhausted,
		fault.Unavailable: codes.Unavailable, fault.Internal: codes.Internal,
		fault.Unauthenticated: codes.Unauthenticated, fault.Denied: codes.PermissionDenied,
	} {
		t.Run(kind.Error(), func(t *testing.T) {
			sent := fault.New(kind, "CAN_EMPTY", "The can of %s is empty.", "Ölfarbe").At("product").With("product", "Ölfarbe").With("left", "0").
				Because(errors.New("secret cause"))
			c.get = func(context.Context) error { return fmt.Errorf("issue: %w", sent) }
			err := c.getPiece(t.Context())
			got := fault.Of(err)
			if diff := cmp.Diff(sent, got, cmpopts.IgnoreUnexported(fault.Fault{})); diff != "" {
				t.Errorf("fault (-sent +got):\n%s", diff)
			}
			if !errors.Is(err, kind) || status.Code(err) != code || strings.Contains(err.Error(), "secret") {
				t.Errorf("err = %v with code %s, want kind %v, code %s and no cause", err, status.Code(err), kind, code)
			}
			retry := false
			for _, d := range status.Convert(err).Details() {
				_, is := d.(*errdetails.RetryInfo)
				retry = retry || is
			}
			if want := kind == fault.Conflict || kind == fault.Exhausted || kind == fault.Unavailable; retry != want {
				t.Errorf("retry info = %v, want %v", retry, want)
			}
		})
	}
}

// A fault that says nothing of its kind is still a failure.
func TestServer_FaultWithoutAKind(t *testing.T) {
	c := setup(t)
	c.get = func(context.Context) error { return &fault.Fault{Reason: "ODD", Text: "Something odd."} }
	if err := c.getPiece(t.Context()); !fault.Is(err, "ODD") || !errors.Is(err, fault.Internal) {
		t.Errorf("err = %v, want an internal ODD", err)
	}
}

func TestServer_HidesWhatIsNoFault(t *testing.T) {
	c := setup(t)
	secret := `relation "wage" does not exist`
	for name, get := range map[string]func(context.Context) error{
		"Error":  func(context.Context) error { return errors.New(secret) },
		"Panic":  func(context.Context) error { panic(secret) },
		"Status": func(context.Context) error { return fmt.Errorf("peer: %w", status.Error(codes.NotFound, secret)) },
	} {
		t.Run(name, func(t *testing.T) {
			c.get = get
			err := c.getPiece(t.Context())
			f := fault.Of(err)
			if f == nil || f.Kind != fault.Internal || f.Reason != "INTERNAL" || f.Meta["number"] == "" {
				t.Fatalf("err = %v, want INTERNAL with a number", err)
			}
			if strings.Contains(fmt.Sprint(err, status.Convert(err).Details()), "wage") {
				t.Errorf("the answer tells the cause: %v", err)
			}
			if log := c.log.String(); !strings.Contains(log, "wage") || !strings.Contains(log, f.Meta["number"]) {
				t.Errorf("the log does not have the cause and the number:\n%s", log)
			}
		})
	}
}

// A command that ends without a trustworthy answer may have been done; a read has nothing
// to be unsure of, and neither has a refused command.
func TestClient_IsUnsureOfCommands(t *testing.T) {
	c := setup(t)
	for name, end := range map[string]struct {
		err    error
		unsure bool
	}{
		"Unavailable": {fault.New(fault.Unavailable, "OUTCOME_UNKNOWN", "Who knows."), true},
		"Deadline":    {context.DeadlineExceeded, true},
		"Canceled":    {context.Canceled, true},
		"Refused":     {fault.New(fault.Precondition, "PIECE_SOLD", "It is sold."), false},
		"Busy":        {fault.New(fault.Exhausted, "TOO_BUSY", "Nothing was changed."), false},
		"Answered":    {nil, false},
	} {
		t.Run(name, func(t *testing.T) {
			c.get = func(context.Context) error { return end.err }
			c.take = func(context.Context, *intakev1.TakeInPieceRequest) error { return end.err }
			var unsure grpcx.Unsure
			if err := c.getPiece(t.Context()); errors.As(err, &unsure) {
				t.Errorf("a read = %v, unsure", err)
			}
			_, err := c.intake.TakeInPiece(by(t, "Nell"), chair())
			if got := errors.As(err, &unsure); got != end.unsure {
				t.Errorf("a command = %v, unsure: %t, want %t", err, got, end.unsure)
			}
			if f := fault.Of(end.err); f != nil && !fault.Is(err, f.Reason) {
				t.Errorf("a command = %v, want the fault %s as well", err, f.Reason)
			}
		})
	}
}

// What gRPC's own services say is not ours to rephrase.
func TestServer_LeavesOthersStatusAlone(t *testing.T) {
	c := setup(t)
	_, err := healthv1.NewHealthClient(c.raw).Check(t.Context(), &healthv1.HealthCheckRequest{Service: "nobody"})
	if status.Code(err) != codes.NotFound {
		t.Errorf("health of an unknown service = %v, want NotFound", err)
	}
	_, err = intakev1.NewIntakeServiceClient(c.raw).ListPieces(t.Context(), &intakev1.ListPiecesRequest{})
	if status.Code(err) != codes.Unimplemented {
		t.Errorf("a method that is not there = %v, want Unimplemented", err)
	}
}

func TestServer_ContextErrorsStayThemselves(t *testing.T) {
	c := setup(t)
	c.get = func(ctx context.Context) error {
		<-ctx.Done()
		return ctx.Err()
	}
	ctx, cancel := context.WithTimeout(t.Context(), 1)
	defer cancel()
	if err := c.getPiece(ctx); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("after the deadline: %v, want context.DeadlineExceeded", err)
	}
	c.get = func(context.Context) error { return fmt.Errorf("query: %w", context.DeadlineExceeded) }
	if err := c.getPiece(t.Context()); !errors.Is(err, context.DeadlineExceeded) || status.Code(err) != codes.DeadlineExceeded {
		t.Errorf("the service's own deadline: %v, want DeadlineExceeded", err)
	}
	c.get = func(context.Context) error { return context.Canceled }
	if err := c.getPiece(t.Context()); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v, want context.Canceled", err)
	}
}

func TestServer_StreamErrorsBecomeFaults(t *testing.T) {
	c := setup(t)
	for name, w := range map[string]func(context.Context, func() error) error{
		"AtOnce": func(context.Context, func() error) error {
			return fault.New(fault.NotFound, "PIECE_NOT_FOUND", "No such piece.")
		},
		"AfterAnswers": func(_ context.Context, send func() error) error {
			return errors.Join(send(), fault.New(fault.NotFound, "PIECE_NOT_FOUND", "No such piece."))
		},
	} {
		t.Run(name, func(t *testing.T) {
			c.watch = w
			err := c.drain(t)
			if !fault.Is(err, "PIECE_NOT_FOUND") || !errors.Is(err, fault.NotFound) {
				t.Errorf("stream = %v, want PIECE_NOT_FOUND", err)
			}
		})
	}
	c.watch = func(context.Context, func() error) error { panic("wage") }
	if err := c.drain(t); !fault.Is(err, "INTERNAL") || strings.Contains(err.Error(), "wage") {
		t.Errorf("a stream that panics = %v, want INTERNAL", err)
	}
	c.watch = func(_ context.Context, send func() error) error { return send() }
	if err := c.drain(t); !errors.Is(err, io.EOF) {
		t.Errorf("a stream that ends well = %v, want EOF", err)
	}
}

// drain reads a stream to its end and returns what ended it.
func (c *client) drain(t *testing.T) error {
	t.Helper()
	s, err := c.costing.WatchPieceCost(t.Context(), &costingv1.WatchPieceCostRequest{Piece: "pieces/1"})
	for err == nil {
		_, err = s.Recv()
	}
	return err
}

func TestFaultOf(t *testing.T) {
	plain := errors.New("not of the wire")
	for name, c := range map[string]struct {
		err    error
		reason string
		kind   fault.Kind
	}{
		"Unreachable":   {status.Error(codes.Unavailable, "connection refused"), "SERVICE_UNAVAILABLE", fault.Unavailable},
		"Unimplemented": {status.Error(codes.Unimplemented, "unknown method"), "UNEXPECTED_STATUS", fault.Internal},
		"Unknown":       {status.Error(codes.Unknown, "?"), "UNEXPECTED_STATUS", fault.Internal},
		"ForeignCode":   {withReason(t, codes.OutOfRange, "LOCKED"), "LOCKED", fault.Internal},
	} {
		t.Run(name, func(t *testing.T) {
			got := grpcx.FaultOf(c.err)
			if !fault.Is(got, c.reason) || !errors.Is(got, c.kind) {
				t.Errorf("FaultOf = %v, want %s of kind %v", got, c.reason, c.kind)
			}
		})
	}
	if got := grpcx.FaultOf(plain); !errors.Is(got, plain) || fault.Of(got) != nil {
		t.Errorf("FaultOf(%v) = %v", plain, got)
	}
	if got := grpcx.FaultOf(nil); got != nil {
		t.Errorf("FaultOf(nil) = %v", got)
	}
}

func withReason(t *testing.T, code codes.Code, reason string) error {
	t.Helper()
	s, err := status.New(code, "no").WithDetails(&errdetails.ErrorInfo{Reason: reason})
	if err != nil {
		t.Fatal(err)
	}
	return s.Err()
}
