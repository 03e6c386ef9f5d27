package workflow

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Session is a device on which somebody has signed in, or a program that an owner let in.
type Session struct {
	ID       id.ID
	Person   Person // of whom only ID, Name and the days with the shop are known; ID Nil: a program
	Label    string // of the device or the program
	Role     Role   // the person's now, or the program's
	ReadOnly bool
	Methods  []string
	Actor    string // who let a program in
	Created  time.Time
	Used     time.Time // zero: never
	Expires  time.Time
	Ended    bool
}

// Program reports whether it is a program's.
func (s Session) Program() bool { return s.Person.ID == id.Nil }

// Name is who gives its commands.
func (s Session) Name() string {
	if s.Program() {
		return s.Label
	}
	return s.Person.Name
}

// ErrEnded is the fault of a session that is none, or none any more; which of these, nobody needs to
// know who has no session.
var ErrEnded = fault.New(fault.Unauthenticated, "SESSION_ENDED", "This session has ended. Sign in again.")

// ErrWrong is the fault of a name and a secret that do not belong together.
var ErrWrong = fault.New(fault.Unauthenticated, "SIGN_IN_WRONG", "The name and the PIN or passphrase do not belong together. Check both; capital letters count in a passphrase.")

// Renew puts the end of a session off; local is the instant in the shop's zone. Faults:
// SESSION_ENDED, PERSON_INACTIVE.
func (s Session) Renew(local time.Time) (Session, error) {
	if s.Ended || !local.Before(s.Expires) {
		return s, ErrEnded
	}
	s.Used = local.UTC()
	if s.Program() {
		return s, nil
	}
	s.Expires = s.Role.SessionEnd(s.Used)
	return s, s.Person.there(local)
}

// mostToken is how long a program can be let in at once.
const mostToken = 5 * 366 * 24 * time.Hour

// CheckToken refuses a program that cannot be let in for that long. Faults: TIME_IN_PAST, TIME_TOO_FAR.
func CheckToken(expires, now time.Time) error {
	switch {
	case !expires.After(now):
		return fault.New(fault.Invalid, "TIME_IN_PAST", "The token would have ended already; let it end later.").At("expire_time")
	case expires.After(now.Add(mostToken)):
		return fault.New(fault.Invalid, "TIME_TOO_FAR", "A token is good for at most five years; let it end sooner, and make another then.").At("expire_time")
	}
	return nil
}
