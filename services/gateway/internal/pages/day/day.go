// Package day is the owner's and the lead's day: what is in work, what could be, what dries until when,
// what waits, what was promised, and what the day has earned so far.
//
//	floor, climate, reviews, outside work ─┐ read together, as whoever asks
//	alerts, oily waste                     ├─▶ facts ─▶ benches, ready, rack, waits, promises … ─▶ templates
//	shop's cost, cash tied up              ┘            (plain structs; geometry in whole numbers)
//
// The page is five parts, each read and renewed by itself when something of its subject changes: floor,
// rack, waits, stock and money. One that cannot be read says so and leaves the others as they are.
package day

import (
	"embed"
	"net/http"

	"golang.org/x/sync/errgroup"

	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css
var files embed.FS

// day has the pages of the day, and what it remembers of pieces because it never changes: what they are
// called, and which of their stages miss no test for lead.
type day struct {
	book  titles.Book
	leads leads
}

// Page is the day's pages.
func Page() web.Page {
	d := &day{}
	return web.Page{Files: files, Routes: map[string]web.Handler{
		"GET /day":              web.ForLeads(d.show),
		"GET /day/part/floor":   web.ForLeads(part("floor", d.floor)),
		"GET /day/part/rack":    web.ForLeads(part("rack", d.rack)),
		"GET /day/part/waits":   web.ForLeads(part("waits", d.waits)),
		"GET /day/part/stock":   web.ForLeads(part("stock", d.stock)),
		"GET /day/part/money":   web.ForLeads(part("money", d.money)),
		"GET /day/give":         web.ForLeads(d.showGive),
		"POST /day/give":        web.ForLeads(d.give),
		"GET /day/review/{id}":  web.ForLeads(showReview),
		"POST /day/review/{id}": web.ForLeads(settleReview),
	}}
}

// part answers with one part of the page.
func part[T any](name string, read func(*web.Asked) (T, error)) web.Handler {
	return func(w http.ResponseWriter, a *web.Asked) error {
		it, err := read(a)
		if err != nil {
			return err
		}
		return a.ShowPart(w, "day", name, it)
	}
}

// today is the whole page.
type today struct {
	Floor floor
	Rack  rack
	Waits waits
	Stock stock
	Money money
}

func (d *day) show(w http.ResponseWriter, a *web.Asked) error {
	var it today
	var reading errgroup.Group
	read(&reading, a, &it.Floor, d.floor)
	read(&reading, a, &it.Rack, d.rack)
	read(&reading, a, &it.Waits, d.waits)
	read(&reading, a, &it.Stock, d.stock)
	if a.User.Owns() {
		read(&reading, a, &it.Money, d.money)
	}
	if err := reading.Wait(); err != nil {
		return err
	}
	return a.Show(w, "day", a.Voice.T("day.title"), it)
}

func read[T any](reading *errgroup.Group, a *web.Asked, into *T, from func(*web.Asked) (T, error)) {
	reading.Go(func() (err error) {
		*into, err = from(a)
		return err
	})
}
