package web

import (
	"crypto/rand"
	"net/http"
	"time"
)

// guestCookie holds a secret of a browser in which nobody has signed in, so that the forms of the door carry a
// key too: else another site could sign its visitor in as somebody else.
const (
	guestCookie = "tackfree_guest"
	guestLasts  = 24 * time.Hour
)

// guestOf gives the secret of a browser; empty: it has none yet.
func guestOf(r *http.Request) string {
	c, err := r.Cookie(guestCookie)
	if err != nil {
		return ""
	}
	return c.Value
}

// keepGuest gives the browser of whoever is not signed in a secret, with the page that has its key.
func (a *Asked) keepGuest(w http.ResponseWriter) {
	if a.User.SignedIn() {
		return
	}
	if a.guest == "" {
		a.guest = rand.Text()
	}
	http.SetCookie(w, a.Kit.cookie(guestCookie, a.guest, guestLasts))
}
