package grpcx

import (
	"context"
	"fmt"
	"log/slog"
	"net/url"
	"runtime/debug"
	"time"

	"buf.build/go/protovalidate"
	"google.golang.org/grpc"
	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
)

// Metadata keys. The actor is percent-encoded, for names are not all ASCII, and taken on
// trust: it is for records, not for access.
const (
	ActorKey       = "tackfree-actor"
	traceParentKey = "traceparent"
	traceStateKey  = "tracestate"
)

const longDeadline = 15 * time.Minute

type interceptors struct {
	logger    *slog.Logger
	validator protovalidate.Validator
	long      map[string]bool
}

func (in interceptors) unary(ctx context.Context, req any, info *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (resp any, err error) {
	defer func() { err = in.toStatus(ctx, info.FullMethod, err) }()
	defer recovered(&err)
	ctx, cancel := in.withDeadline(ctx, info.FullMethod)
	defer cancel()
	if ctx, err = withCaller(ctx, req); err != nil {
		return nil, err
	}
	if err := in.validate(req); err != nil {
		return nil, err
	}
	return handler(ctx, req)
}

func (in interceptors) stream(srv any, ss grpc.ServerStream, info *grpc.StreamServerInfo, handler grpc.StreamHandler) (err error) {
	defer func() { err = in.toStatus(ss.Context(), info.FullMethod, err) }()
	defer recovered(&err)
	ctx, err := withCaller(ss.Context(), nil)
	if err != nil {
		return err
	}
	return handler(srv, checkedStream{ServerStream: ss, ctx: ctx, in: in})
}

// checkedStream validates what arrives on a stream.
type checkedStream struct {
	grpc.ServerStream
	ctx context.Context
	in  interceptors
}

func (s checkedStream) Context() context.Context { return s.ctx }

func (s checkedStream) RecvMsg(m any) error {
	if err := s.ServerStream.RecvMsg(m); err != nil {
		return err
	}
	return s.in.validate(m)
}

func recovered(err *error) {
	if p := recover(); p != nil {
		*err = fmt.Errorf("panic: %v\n%s", p, debug.Stack())
	}
}

func (in interceptors) withDeadline(ctx context.Context, method string) (context.Context, context.CancelFunc) {
	if _, has := ctx.Deadline(); has {
		return ctx, func() {}
	}
	if in.long[method] {
		return context.WithTimeout(ctx, longDeadline)
	}
	return context.WithTimeout(ctx, usualDeadline)
}

// withCaller puts who asks into the context. A command must say who gives it, for what
// is written down names its author.
func withCaller(ctx context.Context, req any) (context.Context, error) {
	md, _ := metadata.FromIncomingContext(ctx)
	c := caller.Caller{Actor: unescape(first(md, ActorKey)), TraceParent: first(md, traceParentKey), TraceState: first(md, traceStateKey)}
	if command, ok := req.(interface{ GetRequestId() string }); ok {
		c.RequestID = command.GetRequestId()
		if c.Actor == "" || len(c.Actor) > 100 {
			return ctx, fault.New(fault.Invalid, "ACTOR_MISSING",
				"A command must say who gives it, in at most 100 characters: send the metadata key %s.", ActorKey)
		}
	}
	return caller.With(ctx, c), nil
}

func first(md metadata.MD, key string) string {
	if values := md.Get(key); len(values) > 0 {
		return values[0]
	}
	return ""
}

func unescape(s string) string {
	if plain, err := url.PathUnescape(s); err == nil {
		return plain
	}
	return s
}

// validate checks a message against the rules in its contract.
func (in interceptors) validate(req any) error {
	m, ok := req.(proto.Message)
	if !ok {
		return nil
	}
	err := in.validator.Validate(m)
	if err == nil {
		return nil
	}
	return invalid(err)
}
