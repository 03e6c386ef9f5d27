package web

import (
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"slices"
)

// kinds are the static files that are served; templates are not.
var kinds = []string{".css", ".js", ".svg", ".png", ".webmanifest"}

// serveStatic serves a file of any subject. Names are unique over all of them; a browser asks each time
// whether it has changed, which costs an answer without body.
func (k *Kit) serveStatic(w http.ResponseWriter, r *http.Request) {
	k.ServeFile(w, r, r.PathValue("file"))
}

// ServeFile answers with a static file by its name.
func (k *Kit) ServeFile(w http.ResponseWriter, r *http.Request, name string) {
	b := k.file(name)
	if b == nil {
		http.NotFound(w, r)
		return
	}
	sum := sha256.Sum256(b)
	tag := `W/"` + hex.EncodeToString(sum[:8]) + `"`
	w.Header().Set("ETag", tag)
	w.Header().Set("Cache-Control", "no-cache")
	if r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	w.Header().Set("Content-Type", mime.TypeByExtension(path.Ext(name)))
	_, _ = w.Write(b)
}

func (k *Kit) file(name string) []byte {
	if !slices.Contains(kinds, path.Ext(name)) || path.Base(name) != name {
		return nil
	}
	for _, files := range k.static {
		if b, err := fs.ReadFile(files, name); err == nil {
			return b
		}
	}
	return nil
}

func init() {
	for ext, kind := range map[string]string{".webmanifest": "application/manifest+json", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml"} {
		if err := mime.AddExtensionType(ext, kind); err != nil {
			panic(err) // they are well-formed
		}
	}
}
