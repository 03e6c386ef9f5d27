// Package caller carries who asks, for which command, and in which trace, through a
// context: nothing else travels there. Plumbing.
//
// Over the wire the actor is the metadata key tackfree-actor, percent-encoded. Programs
// that are not of this module must send it with every command, or are refused with
// ACTOR_MISSING; pkg/grpcx does it for the others.
package caller

import (
	"context"

	typev1 "tackfree/proto/tackfree/type/v1"
)

// Caller is the origin of a command.
type Caller struct {
	Actor       string // who, as the edge established it
	RequestID   string // of the command; empty for reads
	TraceParent string // W3C trace context, or empty
	TraceState  string

	// What an access token says of who asks; see pkg/access.
	Person   string // people/{id}; empty: a program, or the shop's own machine
	Session  string // sessions/{id}, or tokens/{id} of a program
	Role     typev1.Role
	ReadOnly bool   // may give no command
	Machine  bool   // nobody signed in: the call came through the shop's own machine alone, or from one of its services
	Token    string // of a client: its access token, which goes with each call; a service that is called has none
}

// IsTold reports whether a caller may be told what a role, and those above, may be told: for texts that a service
// writes itself. What stands in fields by itself is withheld by their contract; see access.Told.
func (c Caller) IsTold(least typev1.Role) bool { return c.Role >= least }

type key struct{}

// With returns a context that carries c.
func With(ctx context.Context, c Caller) context.Context { return context.WithValue(ctx, key{}, c) }

// Of returns the caller that ctx carries, or the zero Caller.
func Of(ctx context.Context) Caller {
	c, _ := ctx.Value(key{}).(Caller)
	return c
}
