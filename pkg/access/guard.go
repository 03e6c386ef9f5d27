package access

import (
	"sync"
	"time"

	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// kept is how many tokens a guard remembers: a busy shop has a few dozen people and programs, each
// with one or two that have not ended.
const kept = 4096

// Guard tells who calls are from. Checking a signature takes long beside a call, so it
// remembers those that were good.
type Guard struct {
	key *Key // nil: whoever reaches the server is trusted
	now func() time.Time

	mu   sync.RWMutex
	good map[string]Claims
}

// NewGuard makes a guard; without a key it trusts whoever comes without a token.
func NewGuard(key *Key, now func() time.Time) *Guard {
	return &Guard{key: key, now: now, good: map[string]Claims{}}
}

// Trusts reports whether the guard asks nobody for a token.
func (g *Guard) Trusts() bool { return g.key == nil }

// Who tells who a call is from by its token, or without one by whether it came through this
// machine alone. Nobody, where a token is needed and there is none, has no role. Faults:
// ACCESS_EXPIRED, ACCESS_INVALID, NO_ACCESS_KEY.
func (g *Guard) Who(token string, machine bool) (Claims, error) {
	switch {
	case token != "" && g.key == nil:
		return Claims{}, errNoKey
	case token != "":
		return g.read(token)
	case machine || g.key == nil:
		return Claims{Role: typev1.Role_ROLE_OWNER, Machine: machine}, nil
	}
	return Claims{}, nil
}

func (g *Guard) read(token string) (Claims, error) {
	g.mu.RLock()
	c, known := g.good[token]
	g.mu.RUnlock()
	if known {
		if g.now().Before(c.Expires.Add(Leeway)) {
			return c, nil
		}
		return Claims{}, errExpired
	}
	c, err := g.key.read(token, g.now)
	if err == nil {
		g.keep(token, c)
	}
	return c, err
}

func (g *Guard) keep(token string, c Claims) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if len(g.good) >= kept {
		g.forget()
	}
	g.good[token] = c
}

// forget drops what has ended, and if nothing has, everything.
func (g *Guard) forget() {
	now := g.now()
	for token, c := range g.good {
		if now.After(c.Expires.Add(Leeway)) {
			delete(g.good, token)
		}
	}
	if len(g.good) >= kept {
		clear(g.good)
	}
}

// nobody is the fault of a call by nobody that somebody must give.
func (c Claims) nobody() *fault.Fault {
	if c.Role == typev1.Role_ROLE_UNSPECIFIED {
		return errNobody
	}
	return nil
}
