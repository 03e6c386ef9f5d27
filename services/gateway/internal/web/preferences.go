package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"tackfree/services/gateway/internal/words"
)

// preferencesCookie keeps how somebody reads best, in their browser: it is nobody else's business.
const preferencesCookie = "tackfree_reads"

// Themes are light, dark, or whatever the machine has.
var Themes = []string{"auto", "light", "dark"}

// voiceOf reads how whoever asks reads best. Without preferences: the browser's language; feet and
// inches and twelve hours where that language is English of the United States.
func voiceOf(r *http.Request) *words.Voice {
	accept := r.Header.Get("Accept-Language")
	american := strings.HasPrefix(strings.ToLower(accept), "en-us")
	v := &words.Voice{Language: words.LanguageOf(accept), Units: words.Metric, Half: american, Theme: Themes[0], Zone: time.UTC}
	if american {
		v.Units = words.Imperial
	}
	if c, err := r.Cookie(preferencesCookie); err == nil {
		if chosen, err := url.ParseQuery(c.Value); err == nil {
			choose(v, chosen)
		}
	}
	return v
}

// choose takes over what a reader has chosen, as far as there is such a choice.
func choose(v *words.Voice, chosen url.Values) {
	if l := chosen.Get("language"); slices.Contains(words.Languages, l) {
		v.Language = l
	}
	switch u := words.Units(chosen.Get("units")); u {
	case words.Metric, words.Imperial:
		v.Units = u
	}
	switch chosen.Get("clock") {
	case "12":
		v.Half = true
	case "24":
		v.Half = false
	}
	if t := chosen.Get("theme"); slices.Contains(Themes, t) {
		v.Theme = t
	}
}

// preferences are the page on which somebody chooses how they read.
func preferences() Page {
	return Page{Open: map[string]Handler{
		"GET /preferences": func(w http.ResponseWriter, a *Asked) error {
			return a.Show(w, "preferences", a.Voice.T("preferences.title"), a.back(a.URL.Query().Get("then")))
		},
		"POST /preferences": savePreferences,
	}}
}

func savePreferences(w http.ResponseWriter, a *Asked) error {
	if err := a.ReadForm(w); err != nil {
		return err
	}
	kept := url.Values{}
	for _, field := range []string{"language", "units", "clock", "theme"} {
		kept.Set(field, a.Typed(field))
	}
	http.SetCookie(w, a.Kit.cookie(preferencesCookie, kept.Encode(), 365*24*time.Hour))
	return a.After(w, a.back(a.Typed("then")), "preferences.saved")
}

// back is a path of this shop to go back to; anything else is its beginning.
func (a *Asked) back(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.Contains(to, `\`) {
		return "/"
	}
	return to
}

// Back is where a form wants to go back to.
func (a *Asked) Back(to string) string { return a.back(to) }
