package grpcx

import (
	"context"
	"net/url"
	"strings"
	"unicode"
	"unicode/utf8"

	"google.golang.org/grpc/metadata"

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

const (
	longestActor = 100 // characters
	longestTrace = 512 // bytes, as the W3C asks of a tracestate
)

// withCaller puts who asks into the context. A command must say who gives it, for what
// is written down names its author.
func withCaller(ctx context.Context, req any) (context.Context, error) {
	md, _ := metadata.FromIncomingContext(ctx)
	c := caller.Caller{Actor: unescape(first(md, ActorKey)),
		TraceParent: traceOf(first(md, traceParentKey)), TraceState: traceOf(first(md, traceStateKey))}
	if command, ok := req.(interface{ GetRequestId() string }); ok {
		c.RequestID = command.GetRequestId()
		if !isName(c.Actor) {
			return ctx, fault.New(fault.Invalid, "ACTOR_MISSING",
				"A command must say who gives it, in at most %d printable characters: send the metadata key %s.", longestActor, ActorKey)
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

// isName reports text that can be kept and shown.
func isName(s string) bool {
	return s != "" && utf8.ValidString(s) && utf8.RuneCountInString(s) <= longestActor &&
		!strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) })
}

// traceOf drops a trace context that is none: it goes into events, which hold text.
func traceOf(s string) string {
	if len(s) > longestTrace || strings.ContainsFunc(s, func(r rune) bool { return r < ' ' || r > '~' }) {
		return ""
	}
	return s
}
