package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/gateway/internal/words"
)

//go:embed base
var baseFiles embed.FS

var base = func() fs.FS {
	f, err := fs.Sub(baseFiles, "base")
	if err != nil {
		panic(err) // it is compiled in
	}
	return f
}()

// View is what a template shows: the voice, who reads, and the page's own data. In a template $ is
// the view, so that {{$.T KEY}} and {{$.Money .Price}} work everywhere.
type View struct {
	*words.Voice
	User  User
	Now   time.Time
	Form  string // what each form carries; see hidden in base.html
	Here  string // the path, for the way back and for what is marked in the menu
	Said  string // what happened after the last form, a sentence
	Wrong string // what was refused, a sentence
	Title string
	Data  any
}

// ID makes an id for a form's command.
func (View) ID() string { return id.New().String() }

// Part is a view with a part of its data, for a template within a template.
func (v *View) Part(data any) *View {
	part := *v
	part.Data = data
	return &part
}

const (
	saidCookie = "tackfree_said"
	saidLasts  = time.Minute
)

// View makes a view of what a page shows.
func (a *Asked) View(title string, data any) *View {
	return &View{Voice: a.Voice, User: a.User, Now: a.Now(), Form: a.FormKey(), Here: a.URL.Path, Title: title, Data: data}
}

// Show answers with a page. Name is that of its template file; title is a sentence in the reader's language.
func (a *Asked) Show(w http.ResponseWriter, name, title string, data any) error {
	a.keepGuest(w)
	v := a.View(title, data)
	if c, err := a.Cookie(saidCookie); err == nil && a.Voice.Has(c.Value) {
		v.Said = a.Voice.T(c.Value)
		http.SetCookie(w, a.Kit.cookie(saidCookie, "", -time.Hour))
	}
	return a.Kit.write(w, http.StatusOK, name, "page", v)
}

// ShowRefused answers with a page that says why what was typed into it was refused; nil: it was not.
func (a *Asked) ShowRefused(w http.ResponseWriter, name, title string, data any, refused error) error {
	if refused == nil {
		return a.Show(w, name, title, data)
	}
	a.keepGuest(w)
	v := a.View(title, data)
	v.Wrong = a.Sentence(refused)
	return a.Kit.write(w, StatusOf(refused), name, "page", v)
}

// Part is one part of a page, a template defined in its file, for what is sent piece by piece.
func (a *Asked) Part(name, part string, data any) ([]byte, error) {
	return a.Kit.render(name, part, a.View("", data))
}

// ShowPart answers with one part of a page, a template defined in its file, for what is replaced live.
// A browser that has it already is told so.
func (a *Asked) ShowPart(w http.ResponseWriter, name, part string, data any) error {
	b, err := a.Part(name, part, data)
	if err != nil {
		return err
	}
	sum := sha256.Sum256(b)
	tag := `W/"` + base64.RawURLEncoding.EncodeToString(sum[:12]) + `"`
	w.Header().Set("ETag", tag)
	if a.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	return send(w, http.StatusOK, b)
}

func (k *Kit) write(w http.ResponseWriter, status int, name, part string, v *View) error {
	b, err := k.render(name, part, v)
	if err != nil {
		return err
	}
	return send(w, status, b)
}

func send(w http.ResponseWriter, status int, b []byte) error {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(b) // whoever left does not read it
	return nil
}

// render makes a whole answer before any of it is sent, so that a fault in the middle is still a page.
func (k *Kit) render(name, part string, v *View) ([]byte, error) {
	t := k.templates[name]
	if t == nil {
		return nil, fmt.Errorf("there is no template %s", name)
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, part, v); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// addFiles reads a subject's templates, each over the base, and its static files. What is long goes into
// several files: piece.money.html is a part of piece.html.
func (k *Kit) addFiles(files fs.FS) {
	for _, name := range match(files, "*.html") {
		page := strings.TrimSuffix(name, ".html")
		if strings.Contains(page, ".") {
			continue
		}
		t := template.Must(template.New(name).Funcs(functions).ParseFS(base, "base.html"))
		if name != "base.html" {
			template.Must(t.ParseFS(files, append(match(files, page+".*.html"), name)...))
		}
		k.templates[page] = t
	}
	k.static = append(k.static, files)
}

func match(files fs.FS, pattern string) []string {
	names, err := fs.Glob(files, pattern)
	if err != nil {
		panic(err) // the pattern is ours
	}
	return names
}

var functions = template.FuncMap{
	"last": func(name string) string { return path.Base(name) }, // of pieces/{id}: the id
	"list": func(items ...any) []any { return items },
}
