package grpcx

import (
	"context"
	"net/url"
	"strings"
	"unicode"
	"unicode/utf8"

	"google.golang.org/grpc/metadata"

	"tackfree/pkg/access"
	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
)

// Metadata keys. The actor is percent-encoded, for names are not all ASCII. It is taken on
// trust from whom the server trusts, and from nobody else: an access token says who brings it.
const (
	ActorKey       = "tackfree-actor"
	TokenKey       = "authorization"
	traceParentKey = "traceparent"
	traceStateKey  = "tracestate"
)

const (
	longestActor = 100 // characters
	longestTrace = 512 // bytes, as the W3C asks of a tracestate
)

// who tells who asks, by what their call brings.
func (in interceptors) who(ctx context.Context) (access.Claims, caller.Caller, error) {
	md, _ := metadata.FromIncomingContext(ctx)
	token, err := bearer(md)
	if err != nil {
		return access.Claims{}, caller.Caller{}, err
	}
	c, err := in.guard.Who(token, isLocal(ctx))
	if err != nil {
		return c, caller.Caller{}, err
	}
	from := caller.Caller{Actor: c.Name, Person: c.Person, Session: c.Session, Role: c.Role, ReadOnly: c.ReadOnly, Machine: c.Machine,
		TraceParent: traceOf(first(md, traceParentKey)), TraceState: traceOf(first(md, traceStateKey))}
	if c.Name == "" {
		from.Actor = unescape(first(md, ActorKey))
	}
	return c, from, nil
}

// bearer reads the access token that a call brings. Fault: ACCESS_INVALID.
func bearer(md metadata.MD) (string, error) {
	values := md.Get(TokenKey)
	if len(values) == 0 {
		return "", nil
	}
	scheme, token, ok := strings.Cut(values[0], " ")
	if len(values) > 1 || !ok || token == "" || !strings.EqualFold(scheme, "Bearer") {
		return "", fault.New(fault.Unauthenticated, "ACCESS_INVALID", "Send one access token, as %s: Bearer TOKEN.", TokenKey)
	}
	return token, nil
}

// withCaller puts who asks into the context. A command must say who gives it, for what
// is written down names its author.
func withCaller(ctx context.Context, c caller.Caller, req any) (context.Context, error) {
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
