package web

import (
	"net/http"
	"strings"

	"github.com/klauspost/compress/gzhttp"
)

// policy lets a page run only this shop's own scripts and styles from files of their own, send forms
// only here, and be framed by nobody.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; " +
	"manifest-src 'self'; worker-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// headers says to browsers what no page may do.
func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), geolocation=(), microphone=()")
		h.Set("Cache-Control", "no-store") // what a shop earns stays in no browser's cache
		next.ServeHTTP(w, r)
	})
}

// longestBody is the most that any request may bring: a photo and what goes with it.
const longestBody = 26 << 20

func limited(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, longestBody)
		next.ServeHTTP(w, r)
	})
}

// zipped packs what is text; streams go out as they come.
func zipped(next http.Handler) http.Handler {
	wrap, err := gzhttp.NewWrapper(gzhttp.MinSize(1400), gzhttp.ExceptContentTypes([]string{"image/jpeg", "image/png", "text/event-stream", "application/x-ndjson"}))
	if err != nil {
		panic(err) // the options are ours
	}
	packed := wrap(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == LivePath || strings.Contains(r.Header.Get("Accept"), "text/event-stream") {
			next.ServeHTTP(w, r)
			return
		}
		packed.ServeHTTP(w, r)
	})
}

// LivePath is where browsers are told what changes.
const LivePath = "/live"
