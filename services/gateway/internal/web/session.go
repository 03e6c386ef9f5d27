package web

import (
	"context"
	"crypto/sha256"
	"errors"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"golang.org/x/sync/singleflight"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
)

// Access is what a session's secret is good for, for some minutes.
type Access struct {
	User    User
	Token   string
	Expires time.Time
}

// Door is where secrets become access.
type Door interface {
	// Renew gives access for a session's secret; fault.Unauthenticated when it has none any more.
	Renew(ctx context.Context, secret string) (Access, error)
}

// Keeper keeps access tokens as long as they are good, so that not every request renews one.
type Keeper struct {
	Door Door
	Now  func() time.Time

	flight singleflight.Group
	mu     sync.Mutex
	kept   map[[32]byte]Access
}

// early is how long before its end a token is renewed: what is asked with it, such as the search for a plan, may take
// a minute, and a stream ends with its token. mostRemembered bounds what is kept.
const (
	early          = time.Minute
	mostRemembered = 10_000
)

// Of gives access for a session's secret.
func (k *Keeper) Of(ctx context.Context, secret string) (Access, error) {
	key := sha256.Sum256([]byte(secret))
	if a, ok := k.find(key); ok {
		return a, nil
	}
	renewed, err, _ := k.flight.Do(string(key[:]), func() (any, error) {
		a, err := k.Door.Renew(context.WithoutCancel(ctx), secret)
		if err == nil {
			k.keep(key, a)
		}
		return a, err
	})
	if err != nil {
		return Access{}, err
	}
	return renewed.(Access), nil
}

// Forget drops what is kept for a secret.
func (k *Keeper) Forget(secret string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	delete(k.kept, sha256.Sum256([]byte(secret)))
}

func (k *Keeper) find(key [32]byte) (Access, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	a, ok := k.kept[key]
	return a, ok && k.Now().Before(a.Expires.Add(-early))
}

func (k *Keeper) keep(key [32]byte, a Access) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.kept == nil || len(k.kept) >= mostRemembered {
		k.kept = map[[32]byte]Access{}
	}
	k.kept[key] = a
}

// sessionCookie holds the session's secret. No script can read it, and no other site's form sends it.
const sessionCookie = "tackfree_session"

// Welcome lets the browser of whoever asks in with a session's secret.
func (a *Asked) Welcome(w http.ResponseWriter, secret string, access Access) {
	http.SetCookie(w, a.Kit.cookie(sessionCookie, secret, 30*24*time.Hour))
	a.User, a.secret = access.User, secret
}

// Leave ends the session in this browser and gives its secret, to be ended in the shop too.
func (a *Asked) Leave(w http.ResponseWriter) (secret string) {
	http.SetCookie(w, a.Kit.cookie(sessionCookie, "", -time.Hour))
	a.Kit.Keeper.Forget(a.secret)
	return a.secret
}

func (k *Kit) cookie(name, value string, lasts time.Duration) *http.Cookie {
	return &http.Cookie{Name: name, Value: value, Path: "/", HttpOnly: true, Secure: k.Secure, SameSite: http.SameSiteLaxMode, MaxAge: int(lasts / time.Second)}
}

// recognise finds out who asks. A session that has ended is as good as none.
func (k *Kit) recognise(a *Asked) error {
	c, err := a.Cookie(sessionCookie)
	if err != nil || c.Value == "" {
		return nil
	}
	access, err := k.Keeper.Of(a.Context(), c.Value)
	if errors.Is(err, fault.Unauthenticated) {
		return nil
	}
	if err != nil {
		return err
	}
	a.User, a.secret = access.User, c.Value
	a.as(access.Token)
	return nil
}

// Token gives the access token of a request: that of the program whose secret it bears, or of the
// session of its cookie; none: of nobody.
func (k *Kit) Token(r *http.Request) (string, error) {
	secret, bears := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if c, err := r.Cookie(sessionCookie); !bears && err == nil {
		secret = c.Value
	}
	if secret == "" {
		return "", nil
	}
	access, err := k.Keeper.Of(r.Context(), secret)
	return access.Token, err
}

// Borrow gives a context in which calls are made by a session's right; false when it has none any more.
func (k *Kit) Borrow(ctx context.Context, secret string) (context.Context, bool) {
	access, err := k.Keeper.Of(ctx, secret)
	return caller.With(ctx, caller.Caller{Token: access.Token, Actor: access.User.Name}), err == nil
}

// toDoor asks whoever is not signed in to do so, and brings them back after. What is not a page says it.
func (k *Kit) toDoor(w http.ResponseWriter, a *Asked) error {
	if a.Method != http.MethodGet || a.Header.Get("Sec-Fetch-Dest") == "empty" {
		return errSignIn
	}
	http.Redirect(w, a.Request, "/sign-in?then="+url.QueryEscape(a.URL.RequestURI()), http.StatusSeeOther)
	return nil
}
