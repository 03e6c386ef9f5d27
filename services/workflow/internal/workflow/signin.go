package workflow

import (
	"fmt"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Role is what somebody is in the shop; each may what those before may.
type Role string

// The roles.
const (
	RoleHelper Role = "helper"
	RoleLead   Role = "lead"
	RoleOwner  Role = "owner"
)

// SecretKind is what somebody signs in with.
type SecretKind string

// The kinds of secrets.
const (
	NoSecret   SecretKind = ""
	Pin        SecretKind = "pin"
	Passphrase SecretKind = "passphrase"
)

// SignIn is what is known of somebody who signs in.
type SignIn struct {
	Person  Person // of whom only ID, Name, Role and the days with the shop are known
	NameKey string
	Kind    SecretKind
	Hash    string // what is kept of the secret
}

// Asker is who wants something done about signing in.
type Asker struct {
	Person id.ID // Nil: a program, or the shop's own machine
	Role   Role
}

// Is reports whether the asker is that person.
func (a Asker) Is(person id.ID) bool { return a.Person != id.Nil && a.Person == person }

// Here refuses somebody who does not belong to the shop on the day of an instant. Fault:
// PERSON_INACTIVE.
func (s SignIn) Here(at time.Time) error { return s.Person.there(at) }

// MaySetPin refuses a PIN that the asker may not give somebody. Faults: PASSPHRASE_NEEDED, NOT_YOURS.
func (s SignIn) MaySetPin(by Asker) error {
	switch {
	case s.Person.Role != RoleHelper:
		return fault.New(fault.Precondition, "PASSPHRASE_NEEDED", "%s is %s here, and a PIN is too easy to try out for that. Set a passphrase.", s.Person.Name, s.Person.Role.article()).At("person")
	case by.Is(s.Person.ID) || by.Role != RoleHelper:
		return nil
	}
	return notYours("give somebody else a PIN", "a lead or an owner").At("person")
}

// MaySetPassphrase refuses a passphrase that the asker may not give somebody. Fault: NOT_YOURS.
func (s SignIn) MaySetPassphrase(by Asker) error {
	if by.Is(s.Person.ID) || by.Role == RoleOwner {
		return nil
	}
	return notYours("give somebody else a passphrase", "an owner").At("person")
}

// MayUnlock refuses to unlock somebody for the asker. Fault: NOT_YOURS.
func (s SignIn) MayUnlock(by Asker) error {
	switch {
	case by.Is(s.Person.ID):
		return notYours("unlock yourself", "another owner, or the shop's own machine (shop owner reset)").At("person")
	case by.Role == RoleOwner || by.Role == RoleLead && s.Person.Role == RoleHelper:
		return nil
	}
	return notYours("unlock "+s.Person.Role.article(), "an owner").At("person")
}

// MaySeeSessions refuses another's sessions to all but owners. Fault: NOT_YOURS.
func (a Asker) MaySeeSessions(of id.ID) error {
	if a.Is(of) || a.Role == RoleOwner {
		return nil
	}
	return notYours("see or end another's sessions", "an owner")
}

func notYours(what, whom string) *fault.Fault {
	return fault.New(fault.Denied, "NOT_YOURS", "You may not %s. Ask %s.", what, whom)
}

// OwnerInOffice is an owner as far as it matters who can still sign in as one.
type OwnerInOffice struct {
	Person        Person
	HasPassphrase bool
}

// counts reports whether they can sign in as an owner on the day of an instant.
func (o OwnerInOffice) counts(at time.Time) bool {
	return o.Person.Role == RoleOwner && o.HasPassphrase && o.Person.there(at) == nil
}

// ChangeRole says what is left of somebody's secret when they become something else; owners are
// they themselves and all owners. Faults: ROLE_UNCHANGED, LAST_OWNER.
func (s SignIn) ChangeRole(to Role, owners []OwnerInOffice, at time.Time) (keepsSecret bool, err error) {
	if s.Person.Role == to {
		return false, fault.New(fault.Precondition, "ROLE_UNCHANGED", "%s is %s already.", s.Person.Name, to.article()).At("role")
	}
	was, others := false, 0
	for _, o := range owners {
		switch {
		case o.Person.ID == s.Person.ID:
			was = o.counts(at)
		case o.counts(at):
			others++
		}
	}
	if was && others == 0 {
		return false, fault.New(fault.Precondition, "LAST_OWNER", "%s is the only owner who can sign in. Make somebody else an owner first, with a passphrase.", s.Person.Name).At("role")
	}
	return to == RoleHelper || s.Kind != Pin, nil
}

// article is the role with its article.
func (r Role) article() string {
	if r == RoleOwner {
		return "an owner"
	}
	return fmt.Sprintf("a %s", string(r))
}

// SessionEnd is when a session ends that is used now and then no more.
func (r Role) SessionEnd(now time.Time) time.Time {
	if r == RoleOwner {
		return now.Add(12 * time.Hour)
	}
	return now.Add(30 * 24 * time.Hour)
}
