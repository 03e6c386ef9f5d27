// Package bench is the page of whoever stands at a bench: what they are on, what comes next, and one
// large button.
//
//	GET /bench ─▶ the shell: words and empty places ─▶ bench.js fills them ◀─ GET /bench/state
//	a press ─▶ the phone's own queue (IndexedDB), with an id made there and then
//	             ├─ online, nothing waits: POST /bench/clock ─▶ ClockOn, ClockOff, SwitchClock …
//	             └─ else, later and in order: POST /bench/entry ─▶ SendClockEntry
//	what people ask each other to take is answered at once or not at all: it never waits in the queue
//	out of reach: sw.js gives the shell from its cache; the state that was kept and the queue fill it
//
// A press that was not answered is asked again under its id until it is. One that the shop then refuses
// is sent as an entry of a device, which the shop keeps whatever stands against it. What waits belongs to
// who pressed, and goes only when that person is signed in.
package bench

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"slices"

	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

//go:embed *.html *.css *.js
var files embed.FS

// Page is the bench's pages.
func Page() web.Page {
	return web.Page{Files: files,
		Open: map[string]web.Handler{"GET /sw.js": worker, "GET /bench/shell": shell},
		Routes: map[string]web.Handler{
			"GET /bench":        show,
			"GET /bench/state":  state,
			"POST /bench/clock": clock,
			"POST /bench/entry": sendEntry,
			"GET /bench/take":   take,
			"POST /bench/take":  issue,
			"GET /cans/{id}":    can,
			"GET /bench/photo":  photo,
			"GET /bench/swap":   swap,
			"POST /bench/swap":  askToSwap,

			"POST /bench/give-back": giveBack,
		}}
}

// Indirect is work that belongs to no piece, as the bench offers it.
var Indirect = []string{"cleaning", "pick_up", "delivery", "training", "meeting", "maintenance"}

// place is what the page is before anybody's work is put into it.
type place struct {
	Indirect []string
	Words    string // what scripts say, as JSON
	Edition  string // of the files that a phone keeps
}

// said is what scripts say, by the key in the catalogue without its prefix.
var said = []string{"start", "resume", "off", "switch", "nothing", "read", "sending", "since", "where", "minutes", "hours", "claim", "ready", "ready.over", "closes", "closes.over",
	"waits.on", "waits.off", "waits.span", "waits.switch", "waits.pause", "waits.resume", "waits.finish", "seen", "swap", "accept", "decline", "withdraw", "day", "nobody", "unsure", "device", "reset"}

func placeFor(v *words.Voice) (place, error) {
	texts := map[string]string{}
	for _, key := range said {
		texts[key] = v.T("bench.say." + key)
	}
	b, err := json.Marshal(texts)
	return place{Indirect: Indirect, Words: string(b), Edition: edition}, err
}

// edition changes whenever a file of the bench does.
var edition = func() string {
	sum := sha256.New()
	for _, name := range []string{"bench.html", "bench.css", "bench.js", "benchqueue.js", "benchpress.js", "benchtime.js", "benchcall.js", "benchshow.js", "sw.js"} {
		b, err := files.ReadFile(name)
		if err != nil {
			panic(err) // it is compiled in
		}
		sum.Write(b)
	}
	return hex.EncodeToString(sum.Sum(nil)[:6])
}()

func show(w http.ResponseWriter, a *web.Asked) error {
	p, err := placeFor(a.Voice)
	if err != nil {
		return err
	}
	return a.Show(w, "bench", a.Voice.T("bench.title"), p)
}

// worker serves the service worker, which may look after all pages of the shop.
func worker(w http.ResponseWriter, a *web.Asked) error {
	w.Header().Set("Service-Worker-Allowed", "/")
	a.Kit.ServeFile(w, a.Request, "sw.js")
	return nil
}

// shell is the page without anybody's name or work, which a phone keeps. The worker asks for it without
// cookies, so it says itself how its reader reads.
func shell(w http.ResponseWriter, a *web.Asked) error {
	voice, q := *a.Voice, a.URL.Query()
	if l := q.Get("language"); slices.Contains(words.Languages, l) {
		voice.Language = l
	}
	if t := q.Get("theme"); slices.Contains(web.Themes, t) {
		voice.Theme = t
	}
	return show(w, &web.Asked{Request: a.Request, Kit: a.Kit, Voice: &voice})
}
