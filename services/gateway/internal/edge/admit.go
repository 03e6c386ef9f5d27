package edge

import (
	"net/http"
	"slices"
	"strings"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
)

var (
	errNobody = fault.New(fault.Unauthenticated, "SIGN_IN_NEEDED",
		"Nobody is signed in here. Sign in, or send the secret of a program: Authorization: Bearer SECRET.")
	errElsewhere = fault.New(fault.Denied, "FROM_ANOTHER_SITE",
		"What changes something is taken from the shop's own pages only (X-Requested-With: tackfree), or with Authorization: Bearer SECRET.")
)

// admit stands before every route: it refuses what is no request, and tells the service who asks.
func (e *edge) admit(next runtime.HandlerFunc) runtime.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request, names map[string]string) {
		pattern, _ := runtime.HTTPPattern(r.Context())
		route := e.routes[r.Method+" "+pattern.String()]
		clean, err := e.clean(w, r, route, names)
		switch {
		case err != nil:
			e.refuse(w, err)
		case route.list != nil && wantsCSV(r):
			e.serveCSV(w, clean, route, names)
		case route.method.IsStreamingServer():
			s := newStream(w, accepts(r, "text/event-stream"))
			defer s.start(clean.Context())()
			next(s, clean, names)
		default:
			next(w, clean, names)
		}
	}
}

// clean is a request of which only what the service needs is left: it has no headers, for the mux
// would send some of them on.
func (e *edge) clean(w http.ResponseWriter, r *http.Request, route *route, names map[string]string) (*http.Request, error) {
	token, err := e.token(r, route)
	if err != nil {
		return nil, err
	}
	query, err := route.query(r.URL, names)
	if err != nil {
		return nil, err
	}
	content, err := route.body(w, r, names)
	if err != nil {
		return nil, err
	}
	clean := r.WithContext(caller.With(r.Context(), caller.Caller{Token: token}))
	at := *r.URL
	at.RawQuery = query.Encode()
	clean.Header, clean.URL, clean.Body = http.Header{}, &at, content
	return clean, nil
}

// token is the access token of who asks; empty where anybody may. A visitor's cookie counts for
// nothing, so that no other site can give a call by it.
func (e *edge) token(r *http.Request, route *route) (string, error) {
	if route.open {
		return "", nil
	}
	if route.changes() && !bears(r) && !fromOwnPage(r) {
		return "", errElsewhere
	}
	token, err := e.Token(r)
	if err == nil && token == "" {
		return "", errNobody
	}
	return token, err
}

func bears(r *http.Request) bool {
	scheme, secret, _ := strings.Cut(r.Header.Get("Authorization"), " ")
	return strings.EqualFold(scheme, "Bearer") && secret != ""
}

// fromOwnPage: no other site's page can send this header without being asked for leave first, and
// browsers say themselves where a request is from.
func fromOwnPage(r *http.Request) bool {
	site := r.Header.Get("Sec-Fetch-Site")
	return r.Header.Get("X-Requested-With") == "tackfree" && (site == "same-origin" || site == "none")
}

// answersOrigin says which other sites' pages may call, and answers those that ask first. Without
// the headers that it sets, a browser lets none.
func (e *edge) answersOrigin(w http.ResponseWriter, r *http.Request) bool {
	origin := r.Header.Get("Origin")
	if len(e.Origins) > 0 {
		w.Header().Add("Vary", "Origin")
	}
	if origin == "" || !slices.Contains(e.Origins, origin) {
		return false
	}
	w.Header().Set("Access-Control-Allow-Origin", origin)
	if r.Method != http.MethodOptions || r.Header.Get("Access-Control-Request-Method") == "" {
		return false
	}
	w.Header().Set("Access-Control-Allow-Methods", "GET, POST, PUT, PATCH")
	w.Header().Set("Access-Control-Allow-Headers", "Authorization, Content-Type, Accept")
	w.Header().Set("Access-Control-Max-Age", "600")
	w.WriteHeader(http.StatusNoContent)
	return true
}
