package grpcx

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"strings"
	"time"

	"buf.build/go/protovalidate"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/access"
	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
)

type interceptors struct {
	logger    *slog.Logger
	validator protovalidate.Validator
	long      map[string]bool
	limits    limits
	places    chan struct{} // one token for each call in work
	guard     *access.Guard
}

var errTooBusy = fault.New(fault.Exhausted, "TOO_BUSY", "The service has more to do than it can take on. Nothing was changed; try again shortly.")

func (in interceptors) unary(ctx context.Context, req any, info *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (resp any, err error) {
	defer func() { err = in.toStatus(ctx, info.FullMethod, err) }()
	defer recovered(&err)
	ctx, cancel := in.withDeadline(ctx, info.FullMethod)
	defer cancel()
	leave, err := in.enter(ctx, info.FullMethod)
	if err != nil {
		return nil, err
	}
	defer leave()
	claims, from, err := in.who(ctx)
	if err != nil {
		return nil, err
	}
	if ctx, err = in.admit(ctx, claims, from, info.FullMethod, req); err != nil {
		return nil, err
	}
	resp, err = handler(ctx, req)
	if err != nil {
		return nil, err
	}
	return access.Told(claims.Role, resp), nil
}

// admit puts who asks into the context and refuses what they may not ask, or what is no request.
func (in interceptors) admit(ctx context.Context, c access.Claims, from caller.Caller, method string, req any) (context.Context, error) {
	if err := access.Check(c, method, req); err != nil {
		return ctx, err
	}
	ctx, err := withCaller(ctx, from, req)
	if err != nil {
		return ctx, err
	}
	return ctx, in.validate(req)
}

func (in interceptors) stream(srv any, ss grpc.ServerStream, info *grpc.StreamServerInfo, handler grpc.StreamHandler) (err error) {
	defer func() { err = in.toStatus(ss.Context(), info.FullMethod, err) }()
	defer recovered(&err)
	claims, from, err := in.who(ss.Context())
	if err != nil {
		return err
	}
	ctx, cancel := untilExpiry(ss.Context(), claims)
	defer cancel()
	if ctx, err = in.admit(ctx, claims, from, info.FullMethod, nil); err != nil {
		return err
	}
	admit := func(m any) error {
		_, err := in.admit(ctx, claims, from, info.FullMethod, m)
		return err
	}
	err = handler(srv, checkedStream{ServerStream: ss, ctx: ctx, admit: admit, role: claims.Role})
	if errors.Is(context.Cause(ctx), fault.Unauthenticated) {
		return context.Cause(ctx)
	}
	return err
}

// untilExpiry ends a stream with its access token: a session that has ended must not go on
// seeing what a stream tells for hours.
func untilExpiry(ctx context.Context, c access.Claims) (context.Context, context.CancelFunc) {
	if c.Expires.IsZero() {
		return ctx, func() {}
	}
	return context.WithDeadlineCause(ctx, c.Expires.Add(access.Leeway), access.Expired())
}

// checkedStream checks what arrives on a stream: a command that comes in parts names its
// author in the first of them. What it sends is what whoever asks is told.
type checkedStream struct {
	grpc.ServerStream
	ctx   context.Context
	admit func(m any) error
	role  typev1.Role
}

func (s checkedStream) Context() context.Context { return s.ctx }

func (s checkedStream) RecvMsg(m any) error {
	if err := s.ServerStream.RecvMsg(m); err != nil {
		return err
	}
	return s.admit(m)
}

func (s checkedStream) SendMsg(m any) error { return s.ServerStream.SendMsg(access.Told(s.role, m)) }

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
		return context.WithTimeout(ctx, in.limits.long)
	}
	return context.WithTimeout(ctx, in.limits.deadline)
}

// enter waits a moment for a place, so that a burst queues here and not in memory and
// database. Whoever asks for the service's health always gets an answer.
func (in interceptors) enter(ctx context.Context, method string) (leave func(), err error) {
	if strings.HasPrefix(method, "/grpc.health.") {
		return func() {}, nil
	}
	timer := time.NewTimer(in.limits.wait)
	defer timer.Stop()
	select {
	case in.places <- struct{}{}:
		return func() { <-in.places }, nil
	case <-timer.C:
		return nil, errTooBusy
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// validate checks a message against the rules in its contract.
func (in interceptors) validate(req any) error {
	m, ok := req.(proto.Message)
	if !ok {
		return nil
	}
	if err := in.validator.Validate(m); err != nil {
		return invalid(m, err)
	}
	return checkText(m)
}
