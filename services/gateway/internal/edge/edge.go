// Package edge is the shop's calls as JSON over HTTP, for programs of others. Plumbing.
//
//	request ─▶ origin ─▶ route ▸ who asks ▸ query ▸ body ─┬─▶ JSON in, JSON out ───────────────────┐
//	             │                                        ├─▶ stream: a line or an event for each ──┼─▶ service
//	             └▶ /openapi.json                         └─▶ list: all pages as one table (CSV) ───┘
//
// The routes, and who may use them, stand in the contracts; openapi.json says them to others. The edge
// has no rules of its own: it says who asks, by an access token, and the services decide. Of what comes
// in headers nothing goes on to them.
//
// What a call does not know is refused, be it a field or a parameter. A call that changes something is
// taken with a bearer token, or from a page of the shop's own and from no other.
package edge

import (
	"bytes"
	_ "embed"
	"log/slog"
	"net/http"
	"time"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/reflect/protoregistry"
)

// Config is what the edge stands on.
type Config struct {
	// Conns gives the connection to a service by its name, such as intake. It must be one over which
	// every call needs a token: visitors call over it too.
	Conns func(service string) (grpc.ClientConnInterface, error)
	// Token gives the access token of who asks, by the request's bearer token or session; empty: nobody.
	// Its faults are answered.
	Token func(*http.Request) (access string, err error)
	// Origins are other sites whose pages may call, such as https://desk.example; none: only the shop's
	// own, and programs.
	Origins []string
	Logger  *slog.Logger
}

type edge struct {
	Config
	mux    *runtime.ServeMux
	routes map[string]*route // by method and template
	conns  map[string]grpc.ClientConnInterface
}

// New makes the handler of all that is under /v1/, and of /openapi.json.
func New(c Config) (http.Handler, error) {
	e := &edge{Config: c, routes: routesOf(protoregistry.GlobalFiles), conns: map[string]grpc.ClientConnInterface{}}
	e.mux = runtime.NewServeMux(runtime.WithMarshalerOption(runtime.MIMEWildcard, codec{}),
		runtime.WithErrorHandler(e.onError), runtime.WithRoutingErrorHandler(e.onRoute), runtime.WithStreamErrorHandler(e.onStreamError),
		runtime.WithOutgoingHeaderMatcher(no), runtime.WithOutgoingTrailerMatcher(no),
		runtime.WithDisablePathLengthFallback(), runtime.WithDisableChunkedEncoding(), runtime.WithMiddlewares(e.admit))
	if err := e.register(); err != nil {
		return nil, err
	}
	return e, nil
}

// no lets no header of a service's come back.
func no(string) (string, bool) { return "", false }

// ServeHTTP implements http.Handler.
func (e *edge) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("X-Content-Type-Options", "nosniff")
	w.Header().Set("Cache-Control", "no-store")
	switch {
	case e.answersOrigin(w, r):
	case r.URL.Path == "/openapi.json":
		e.describe(w, r)
	default:
		e.mux.ServeHTTP(w, r)
	}
}

//go:embed openapi.json
var document []byte

// describe answers with the document of all routes.
func (e *edge) describe(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		e.refuse(w, wrongMethod(r))
		return
	}
	w.Header().Set("Content-Type", "application/json")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(document))
}
