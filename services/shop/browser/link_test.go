package browser_test

import (
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"sync"
	"testing"
)

// link is the way from a phone to the shop, which can be cut.
type link struct {
	*httptest.Server
	mu    sync.Mutex
	cut   bool
	lose  string         // of the next answer to this path nothing arrives, and then the link is cut
	turn  string         // the next request of this path the shop has too many others for
	asked map[string]int // how often each path was asked for, and the shop heard it
}

// reach makes a link to the shop's pages.
func reach(t *testing.T, pages string) *link {
	t.Helper()
	shop, err := url.Parse(pages)
	if err != nil {
		t.Fatal(err)
	}
	l := &link{asked: map[string]int{}}
	through := &httputil.ReverseProxy{FlushInterval: -1, ErrorHandler: func(http.ResponseWriter, *http.Request, error) { panic(http.ErrAbortHandler) },
		Rewrite: func(r *httputil.ProxyRequest) { r.SetURL(shop); r.Out.Host = r.In.Host }}
	l.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { l.pass(through, w, r) }))
	t.Cleanup(func() { l.CloseClientConnections(); l.Close() })
	return l
}

func (l *link) pass(through http.Handler, w http.ResponseWriter, r *http.Request) {
	l.mu.Lock()
	cut, lost, turned := l.cut, l.lose == r.URL.Path, l.turn == r.URL.Path && !l.cut
	if lost {
		l.lose, l.cut = "", true
	}
	if turned {
		l.turn = ""
	}
	if !cut {
		l.asked[r.URL.Path]++
	}
	l.mu.Unlock()
	if cut {
		panic(http.ErrAbortHandler)
	}
	if turned {
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(http.StatusConflict)
		_, _ = w.Write([]byte(`{"error":{"reason":"CONTENTION","message":"Others changed the same things."}}`))
		return
	}
	if !lost {
		through.ServeHTTP(w, r)
		return
	}
	through.ServeHTTP(httptest.NewRecorder(), r) // the shop does it, and nobody hears of it
	panic(http.ErrAbortHandler)
}

func (l *link) sever() {
	l.mu.Lock()
	l.cut = true
	l.mu.Unlock()
	l.CloseClientConnections()
}

func (l *link) mend() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.cut = false
}

// loses has the answer to the next request of a path lost, and the link with it.
func (l *link) loses(path string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.lose = path
}

// turnsAway has the next request of a path answered as where others changed the same things.
func (l *link) turnsAway(path string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.turn = path
}

func (l *link) times(path string) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.asked[path]
}
