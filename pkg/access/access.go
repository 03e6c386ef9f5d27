// Package access says who a call is from, whether they may give it, and what of its answer they are told. Plumbing.
//
//	workflow ── Key.Sign ─▶ access token: five minutes ─▶ client ─▶ each service:
//	                                                      Guard.Who ▸ Check (access option of the contract)
//	                                                      ▸ handler ▸ Told (told_to options of its fields)
//
// A token is a JSON Web Token signed with Ed25519, and nothing else is taken for one. It
// cannot be called back, which is why it is short: a session that has ended gets no other.
// Who reaches a server through this machine alone, or a server without a key, needs none.
package access

import (
	"time"

	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// Life is how long an access token is good for, and Leeway how far the clocks of the shop's
// machines may be apart.
const (
	Life   = 5 * time.Minute
	Leeway = 30 * time.Second
)

// Claims are what an access token says of who brings it.
type Claims struct {
	Person   string // people/{id}; empty: a program
	Name     string // the actor of their commands
	Session  string // sessions/{id} of a person, tokens/{id} of a program
	Role     typev1.Role
	ReadOnly bool      // they may give no command
	Methods  []string  // full methods, or services, that they may call and no others; none: all of their role
	Service  string    // a service of the suite, whose calls name their actor themselves
	Machine  bool      // nobody signed in: the call came through this machine alone, or from who has the shop's key; never said in a token
	Expires  time.Time // when the token ends; zero without one
}

// Faults of who asks.
var (
	errNobody  = fault.New(fault.Unauthenticated, "SIGN_IN_NEEDED", "Sign in first: this call came without an access token.")
	errExpired = fault.New(fault.Unauthenticated, "ACCESS_EXPIRED", "The access token has ended. Renew it, or sign in again.")
	errInvalid = fault.New(fault.Unauthenticated, "ACCESS_INVALID", "The access token is not one of this shop. Sign in again.")
	errNoKey   = fault.New(fault.Precondition, "NO_ACCESS_KEY",
		"This service has no key to check access tokens with. Start it with --access-key-file.")
)

// Expired is the fault of an access token that has ended.
func Expired() error { return errExpired }

// NoKey is the fault of a service that was asked about access and has no key.
func NoKey() error { return errNoKey }

var roleWords = map[typev1.Role]string{typev1.Role_ROLE_HELPER: "helper", typev1.Role_ROLE_LEAD: "lead", typev1.Role_ROLE_OWNER: "owner"}

var wordRoles = map[string]typev1.Role{"helper": typev1.Role_ROLE_HELPER, "lead": typev1.Role_ROLE_LEAD, "owner": typev1.Role_ROLE_OWNER}
