// Package piece is all that the shop knows of one piece, at /pieces/{tag}.
//
//	intake: piece, photos, assessments ┐
//	workflow: board, stages, finish    │            ┌─▶ now     where it stands, until when it is promised
//	  plan, dry clocks, tests, clock   ├─▶ loaders ─┼─▶ floor   layers (film), time line (lanes), clock, story
//	  entries                          │            ├─▶ stock   what went into it, and what is to come
//	materials: issues, lots, needs     │            └─▶ money   cost sheet down to the event, forecast
//	costing, sales ────────────────────┤
//	all four logs: its events ─────────┘
//
// Each of the four is a band that is fetched anew when its subject changes, and that may be missing
// alone. The page decides nothing: what somebody may not do the services refuse.
package piece

import (
	"embed"
	"net/http"
	"strconv"

	"golang.org/x/sync/errgroup"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css *.js
var files embed.FS

// Page is the pages of a piece.
func Page() web.Page {
	return web.Page{Files: files, Routes: map[string]web.Handler{
		"GET /pieces/{tag}":             show,
		"GET /pieces/{tag}/part/now":    part("now", loadNow),
		"GET /pieces/{tag}/part/floor":  part("floor", loadFloor),
		"GET /pieces/{tag}/part/stock":  part("stock", loadStock),
		"GET /pieces/{tag}/part/money":  part("money", loadMoney),
		"GET /pieces/{tag}/story":       showStory,
		"GET /pieces/{tag}/why/{event}": why,
		"POST /pieces/{tag}/promise":    command(promise),
		"POST /pieces/{tag}/suggest":    web.ForLeads(suggest),
		"POST /pieces/{tag}/assess":     command(assess),
		"POST /pieces/{tag}/move":       command(move),
		"POST /pieces/{tag}/send-back":  command(sendBack),
		"POST /pieces/{tag}/send-out":   command(sendOut),
		"POST /pieces/{tag}/receive":    command(receive),
		"POST /pieces/{tag}/inspect":    command(inspect),
		"POST /pieces/{tag}/plan":       command(plan),
		"POST /pieces/{tag}/correct":    command(correct),
		"POST /pieces/{tag}/return":     command(giveBack),
		"POST /pieces/{tag}/take-back":  command(takeBack),
		"POST /pieces/{tag}/scrap":      command(scrap),
		"POST /pieces/{tag}/list":       command(list),
		"POST /pieces/{tag}/asking":     command(changeAsking),
		"POST /pieces/{tag}/sell":       command(sell),
		"POST /pieces/{tag}/refund":     command(refund),
	}}
}

// find reads the piece by the tag in the address.
func find(a *web.Asked) (*intakev1.Piece, error) {
	r, err := a.Kit.Suite.Intake.GetPiece(a.Context(), &intakev1.GetPieceRequest{Name: "pieces/tag:" + a.PathValue("tag")})
	return r.GetPiece(), err
}

// whole is what the page shows.
type whole struct {
	Piece    *intakev1.Piece
	Path     string // /pieces/{tag}
	Seen     seenBefore
	Order    orderedBy
	Now      nowBand
	Floor    floorBand
	Assessed assessBand
	Photos   photoBand
	Stock    stockBand
	Money    moneyBand
	Can      actions
}

func show(w http.ResponseWriter, a *web.Asked) error {
	p, err := find(a)
	if err != nil {
		return err
	}
	return showWith(w, a, p, typedIn{}, nil)
}

// showWith shows the page, with what was typed into one of its forms and why that was refused.
func showWith(w http.ResponseWriter, a *web.Asked, p *intakev1.Piece, typed typedIn, refused error) error {
	it, err := load(a, p)
	if err != nil {
		return err
	}
	it.Can = actionsOf(it, typed)
	it.Assessed.again(a.Voice, typed)
	it.Assessed.show(it.Photos.Photos)
	it.Can.promised(it.Now.Line, a.Voice)
	if err := it.Can.more(a, it); err != nil {
		return err
	}
	return a.ShowRefused(w, "piece", a.Voice.T("piece.title", p.Tag, p.Title), it, refused)
}

// load reads all bands at once.
func load(a *web.Asked, p *intakev1.Piece) (it whole, err error) {
	it = whole{Piece: p, Path: "/pieces/" + strconv.Itoa(int(p.Tag))}
	var group errgroup.Group
	group.Go(func() (err error) { it.Seen, err = loadSeenBefore(a, p); return err })
	group.Go(func() (err error) { it.Order, err = loadOrdered(a, p); return err })
	group.Go(func() (err error) { it.Now, err = loadNow(a, p); return err })
	group.Go(func() (err error) { it.Floor, err = loadFloor(a, p); return err })
	group.Go(func() (err error) { it.Assessed, err = loadAssessed(a, p); return err })
	group.Go(func() (err error) { it.Photos, err = loadPhotos(a, p); return err })
	group.Go(func() (err error) { it.Stock, err = loadStock(a, p); return err })
	group.Go(func() (err error) { it.Money, err = loadMoney(a, p); return err })
	return it, group.Wait()
}

// part answers with one band.
func part[T any](name string, load func(*web.Asked, *intakev1.Piece) (T, error)) web.Handler {
	return func(w http.ResponseWriter, a *web.Asked) error {
		p, err := find(a)
		if err != nil {
			return err
		}
		band, err := load(a, p)
		if err != nil {
			return err
		}
		return a.ShowPart(w, "piece", name, band)
	}
}
