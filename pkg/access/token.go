package access

import (
	"context"
	"errors"
	"sync"
	"time"

	"github.com/golang-jwt/jwt/v5"

	typev1 "tackfree/proto/tackfree/type/v1"
)

const (
	issuer = "tackfree"
	// longest is a token of fifty methods; what is longer is not looked at.
	longest = 10 << 10 // bytes
)

// body is a token as it is written.
type body struct {
	Person   string   `json:"person,omitempty"`
	Name     string   `json:"name,omitempty"`
	Session  string   `json:"session,omitempty"`
	Role     string   `json:"role"`
	ReadOnly bool     `json:"read_only,omitempty"`
	Methods  []string `json:"methods,omitempty"`
	Service  string   `json:"service,omitempty"`
	jwt.RegisteredClaims
}

// Sign writes a token that is good for Life from now, or until c.Expires if that is sooner. Fault:
// NO_ACCESS_KEY.
func (k *Key) Sign(c Claims, now time.Time) (token string, expires time.Time, err error) {
	if !k.Signs() {
		return "", time.Time{}, errNoKey
	}
	if expires = now.Add(Life); !c.Expires.IsZero() && c.Expires.Before(expires) {
		expires = c.Expires
	}
	expires = expires.Truncate(time.Second) // as the token says it
	t := jwt.NewWithClaims(jwt.SigningMethodEdDSA, body{Person: c.Person, Name: c.Name, Session: c.Session, Role: roleWords[c.Role], ReadOnly: c.ReadOnly, Methods: c.Methods, Service: c.Service,
		RegisteredClaims: jwt.RegisteredClaims{Issuer: issuer, IssuedAt: jwt.NewNumericDate(now), ExpiresAt: jwt.NewNumericDate(expires)}})
	t.Header["kid"] = k.id
	token, err = t.SignedString(k.private)
	return token, expires, err
}

// read checks a token and reads it. Faults: ACCESS_EXPIRED, ACCESS_INVALID.
func (k *Key) read(token string, now func() time.Time) (Claims, error) {
	if len(token) > longest {
		return Claims{}, errInvalid
	}
	var b body
	_, err := jwt.ParseWithClaims(token, &b, k.check, jwt.WithValidMethods([]string{"EdDSA"}), jwt.WithIssuer(issuer),
		jwt.WithExpirationRequired(), jwt.WithIssuedAt(), jwt.WithLeeway(Leeway), jwt.WithTimeFunc(now), jwt.WithStrictDecoding())
	switch {
	case errors.Is(err, jwt.ErrTokenExpired):
		return Claims{}, errExpired
	case err != nil:
		return Claims{}, errInvalid.Because(err)
	}
	role := wordRoles[b.Role]
	if role == typev1.Role_ROLE_UNSPECIFIED || (b.Name == "") == (b.Service == "") {
		return Claims{}, errInvalid
	}
	return Claims{Person: b.Person, Name: b.Name, Session: b.Session, Role: role, ReadOnly: b.ReadOnly, Methods: b.Methods, Service: b.Service, Machine: b.Service != "", Expires: b.ExpiresAt.Time}, nil
}

var errOtherKey = errors.New("it was signed with another key")

// check gives the key to check a token with.
func (k *Key) check(t *jwt.Token) (any, error) {
	if t.Header["kid"] != k.id {
		return nil, errOtherKey
	}
	return k.public, nil
}

// Fresh gives the token that get gave, and asks for another when it is about to end. Safe for
// use by several at once, who wait for one.
func Fresh(get func(context.Context) (token string, expires time.Time, err error), now func() time.Time) func(context.Context) (string, error) {
	var mu sync.Mutex
	var token string
	var until time.Time
	return func(ctx context.Context) (string, error) {
		mu.Lock()
		defer mu.Unlock()
		if token != "" && now().Before(until.Add(-Life/5)) {
			return token, nil
		}
		t, expires, err := get(ctx)
		if err != nil {
			return "", err
		}
		token, until = t, expires
		return token, nil
	}
}

// ForService gives tokens for a service's calls to the others.
func (k *Key) ForService(name string, now func() time.Time) func(context.Context) (string, error) {
	return Fresh(func(context.Context) (string, time.Time, error) {
		return k.Sign(Claims{Service: name, Role: typev1.Role_ROLE_OWNER}, now())
	}, now)
}
