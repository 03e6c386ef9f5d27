package web

import (
	"context"
	"mime/multipart"
	"net/http"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/money"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/words"
)

// User is who has signed in.
type User struct {
	Person string // people/{id}
	Name   string
	Role   typev1.Role
	// ReadOnly is a program that may give no command.
	ReadOnly bool
}

// SignedIn reports whether it is anybody.
func (u User) SignedIn() bool { return u.Name != "" }

// Leads reports whether they assign others' work.
func (u User) Leads() bool { return u.Role >= typev1.Role_ROLE_LEAD }

// Owns reports whether they see pay and profit.
func (u User) Owns() bool { return u.Role >= typev1.Role_ROLE_OWNER }

// Asked is a request and who gave it.
type Asked struct {
	*http.Request
	Kit    *Kit
	User   User
	Voice  *words.Voice
	secret string            // of the session
	guest  string            // of the browser of whoever has none
	parts  *multipart.Reader // of an upload, what comes after its key
}

// Secret is that of the session of whoever asks.
func (a *Asked) Secret() string { return a.secret }

// Now is the time by which the answer is made.
func (a *Asked) Now() time.Time { return a.Kit.Now() }

// as gives the request a context in which calls are made with an access token.
func (a *Asked) as(token string) {
	a.Request = a.WithContext(caller.With(a.Context(), caller.Caller{Token: token, Actor: a.User.Name}))
}

// terms are what a shop's figures are in.
type terms struct {
	currency money.Currency
	zone     *time.Location
}

// termsOf asks intake once which currency and zone the shop has; before anybody has signed in they are
// not known, and nothing that needs them is shown.
func (k *Kit) termsOf(ctx context.Context) (terms, error) {
	k.asking.Lock()
	defer k.asking.Unlock()
	if k.terms != nil {
		return *k.terms, nil
	}
	shop, err := k.Suite.Intake.GetShop(ctx, &intakev1.GetShopRequest{})
	if err != nil {
		return terms{}, err
	}
	c, err := money.CurrencyOf(shop.CurrencyCode)
	if err != nil {
		return terms{}, err
	}
	zone, err := time.LoadLocation(shop.TimeZone)
	if err != nil {
		return terms{}, err
	}
	k.terms = &terms{c, zone}
	return *k.terms, nil
}

// signedIn runs a handler as whoever the session cookie names, or shows the door.
func (k *Kit) signedIn(h Handler) http.Handler {
	return k.whoever(func(w http.ResponseWriter, a *Asked) error {
		if !a.User.SignedIn() {
			return k.toDoor(w, a)
		}
		t, err := k.termsOf(a.Context())
		if err != nil {
			return err
		}
		a.Voice = a.Voice.For(t.currency, t.zone)
		if err := a.checkForm(w); err != nil {
			return err
		}
		return h(w, a)
	})
}

// anybody runs a handler for whoever asks, signed in or not.
func (k *Kit) anybody(h Handler) http.Handler {
	return k.whoever(func(w http.ResponseWriter, a *Asked) error {
		if err := a.checkForm(w); err != nil {
			return err
		}
		return h(w, a)
	})
}

// whoever runs a handler with who asks, if that can be known.
func (k *Kit) whoever(h Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a := &Asked{Request: r, Kit: k, Voice: voiceOf(r)}
		err := sameSite(r)
		if err == nil {
			err = k.recognise(a)
		}
		if !a.User.SignedIn() {
			a.guest = guestOf(r)
		}
		if err == nil {
			err = h(w, a)
		}
		if err != nil {
			k.explain(w, a, err)
		}
	})
}
