// Package web is what all pages stand on: who asks, in which words, and how an answer is made.
//
//	request ─▶ headers ▸ limits ▸ Handler: session cookie ─▶ Keeper (short-lived access tokens) ─▶ Asked
//	                                        │ not signed in: the door          │ preferences cookie ─▶ words.Voice
//	                                        ▼                                  ▼
//	        page's handler: calls the services as whoever asks ─▶ Show(template, what it shows)
//	                            └ a fault ─▶ a page that says what to do, with the status that fits
//
// The services decide who may do what; pages only leave away what they would refuse. Nothing is kept
// here beside tokens that expire within minutes, so any number of copies serve the same browser.
package web

import (
	"html/template"
	"io/fs"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"tackfree/pkg/clients"
)

// Kit is what pages are made with.
type Kit struct {
	Suite  *clients.Suite
	Keeper *Keeper
	Logger *slog.Logger
	Now    func() time.Time
	Secure bool // cookies only over TLS

	mux       *http.ServeMux
	templates map[string]*template.Template
	static    []fs.FS

	asking sync.Mutex
	terms  *terms
}

// Handler answers a request of somebody who has signed in. What it returns as an error becomes a page.
type Handler func(http.ResponseWriter, *Asked) error

// Page is one subject's pages: its routes, templates and files.
type Page struct {
	Routes map[string]Handler // by pattern of http.ServeMux, such as "GET /day"
	Open   map[string]Handler // the same, for people who have not signed in either
	Files  fs.FS              // templates *.html and static files *.css, *.js, *.svg
}

// Handle adds a subject's pages. A template of the name day.html is shown by Show(…, "day", …).
func (k *Kit) Handle(p Page) {
	for pattern, h := range p.Routes {
		k.mux.Handle(pattern, k.signedIn(byID(pattern, h)))
	}
	for pattern, h := range p.Open {
		k.mux.Handle(pattern, k.anybody(byID(pattern, h)))
	}
	if p.Files != nil {
		k.addFiles(p.Files)
	}
}

// Handler is all pages, behind what holds for each answer.
func (k *Kit) Handler() http.Handler { return limited(headers(zipped(k.mux))) }

// Mount serves a subtree by another handler.
func (k *Kit) Mount(pattern string, h http.Handler) { k.mux.Handle(pattern, h) }

// New makes a kit without pages.
func New(k *Kit) *Kit {
	k.mux = http.NewServeMux()
	k.templates = map[string]*template.Template{}
	k.addFiles(base)
	k.Handle(preferences())
	k.mux.Handle("GET /static/{file}", http.HandlerFunc(k.serveStatic))
	k.mux.Handle("/", k.anybody(func(_ http.ResponseWriter, _ *Asked) error { return errNoPage }))
	return k
}
