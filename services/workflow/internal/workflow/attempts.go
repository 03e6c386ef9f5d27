package workflow

import (
	"time"

	"tackfree/pkg/fault"
)

// Attempts are the wrong secrets that came in a row under one name.
type Attempts struct {
	Failures    int32
	LockedUntil time.Time // zero: not locked
}

const (
	allowed     = 5 // wrong ones in a row, before the name is locked
	firstLock   = 30 * time.Second
	longestLock = 15 * time.Minute
)

// Try counts an attempt, which is taken for wrong until it turns out right: so that many at once
// cannot try more than one after the other. Fault: SIGN_IN_LOCKED.
func (a Attempts) Try(now time.Time) (Attempts, error) {
	if left := a.LockedUntil.Sub(now); left > 0 {
		return a, fault.New(fault.Precondition, "SIGN_IN_LOCKED", "Too many wrong PINs or passphrases in a row. Try again in %s, or ask a lead or an owner to let you in.",
			left.Round(time.Second)+time.Second).With("locked_until", a.LockedUntil.UTC().Format(time.RFC3339))
	}
	a.Failures++
	a.LockedUntil = time.Time{}
	if a.Failures >= allowed {
		a.LockedUntil = now.Add(lockAfter(a.Failures))
	}
	return a, nil
}

// lockAfter is how long a name is locked after so many failures: twice as long each time.
func lockAfter(failures int32) time.Duration {
	d := firstLock
	for i := int32(allowed); i < failures && d < longestLock; i++ {
		d *= 2
	}
	return min(d, longestLock)
}
