// Package tags prints what hangs on a piece and sticks on a can: a number that people read aloud, and a
// code that brings any phone to the page of the thing.
//
//	/pieces/{tag}/tag, /tags?piece=401&piece=402 ─▶ hang tags     code: {address as the browser has it}/pieces/{tag}
//	/tags/can/{product} ───────────────────────────▶ can labels     code: {address}/cans/{product}
//
// Sizes are in millimetres, by the style sheet for print.
package tags

import (
	"context"
	"embed"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/pages/piece/film"
	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css
var files embed.FS

// Page is the tags.
func Page() web.Page {
	return web.Page{Files: files, Routes: map[string]web.Handler{
		"GET /pieces/{tag}/tag":   one,
		"GET /tags":               several,
		"GET /tags/can/{product}": can,
	}}
}

// mostTags is how many a sheet holds; a hang tag is a third of a page.
const mostTags = 60

var (
	errNoNumber = fault.New(fault.Invalid, "TAG_NUMBER_UNREADABLE", "Tag numbers are whole numbers such as 401, with a blank or a comma between them.").At("piece")
	errTooMany  = fault.New(fault.Invalid, "TAGS_TOO_MANY", "A sheet holds at most 60 tags. Print the others after it.").At("piece")
)

// sheet is the tags of one print.
type sheet struct {
	Tags  []hangTag
	Asked string // the numbers, as they were typed
}

// hangTag is what stands on a tag.
type hangTag struct {
	Piece    *intakev1.Piece
	Promise  time.Time // zero: to nobody
	Presumed []string  // parts whose old coating is taken to hold lead
	Found    []string  // parts in which it was found, or that are worked on under controls
	Code     Code
}

func one(w http.ResponseWriter, a *web.Asked) error {
	return show(w, a, []string{a.PathValue("tag")}, nil)
}

func several(w http.ResponseWriter, a *web.Asked) error {
	numbers, err := numbersOf(a.URL.Query()["piece"])
	if err != nil {
		return a.ShowRefused(w, "tags", a.Voice.T("tags.title"), sheet{Asked: strings.Join(a.URL.Query()["piece"], " ")}, err)
	}
	return show(w, a, numbers, numbers)
}

// numbersOf reads tag numbers, given one by one or together. Faults: TAG_NUMBER_UNREADABLE, TAGS_TOO_MANY.
func numbersOf(given []string) (numbers []string, err error) {
	for _, text := range given {
		for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' || r == ';' }) {
			n, err := strconv.ParseUint(word, 10, 31)
			if err != nil {
				return nil, errNoNumber
			}
			numbers = append(numbers, strconv.FormatUint(n, 10))
		}
	}
	if len(numbers) > mostTags {
		return nil, errTooMany
	}
	return numbers, nil
}

func show(w http.ResponseWriter, a *web.Asked, numbers, asked []string) error {
	it := sheet{Tags: make([]hangTag, len(numbers)), Asked: strings.Join(asked, " ")}
	group, ctx := errgroup.WithContext(a.Context())
	group.SetLimit(6)
	promises := map[string]time.Time{}
	group.Go(func() (err error) { promises, err = promisesOf(ctx, a, len(numbers)); return err })
	for i, number := range numbers {
		group.Go(func() (err error) { it.Tags[i], err = tagOf(ctx, a, number); return err })
	}
	if err := group.Wait(); err != nil {
		return err
	}
	for i := range it.Tags {
		it.Tags[i].Promise = promises[it.Tags[i].Piece.Name]
	}
	return a.Show(w, "tags", a.Voice.T("tags.title"), it)
}

func tagOf(ctx context.Context, a *web.Asked, number string) (t hangTag, err error) {
	p, err := a.Kit.Suite.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: "pieces/tag:" + number})
	if err != nil {
		return t, err
	}
	t.Piece = p.Piece
	tests, err := a.Kit.Suite.Tests.ListPartTests(ctx, &workflowv1.ListPartTestsRequest{Piece: t.Piece.Name})
	if err != nil && !fault.Is(err, "PIECE_NOT_FOUND") {
		return t, err
	}
	t.Presumed, t.Found = leaded(t.Piece.Parts, tests.GetTests())
	t.Code, err = CodeOf(address(a) + "/pieces/" + number)
	return t, err
}

// leaded are the parts whose old coating nobody found to be free of lead, and those in which it was found.
func leaded(parts []*intakev1.Part, tests []*workflowv1.PartTest) (presumed, found []string) {
	for _, p := range parts {
		switch film.LeadOf(tests, p.Name) {
		case film.LeadPresumed:
			presumed = append(presumed, p.Label)
		case film.LeadFound, film.LeadAccepted:
			found = append(found, p.Label)
		}
	}
	return presumed, found
}

// promisesOf are the promises of the board, by piece; none where no tag is asked for.
func promisesOf(ctx context.Context, a *web.Asked, tags int) (map[string]time.Time, error) {
	out := map[string]time.Time{}
	for token, more := "", tags > 0; more; more = token != "" {
		r, err := a.Kit.Suite.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{PageSize: 1000, PageToken: token})
		if err != nil {
			return nil, err
		}
		for _, l := range r.Lines {
			if l.PromiseTime != nil {
				out[l.Piece] = l.PromiseTime.AsTime()
			}
		}
		token = r.NextPageToken
	}
	return out, nil
}

// address is how the browser reached this shop.
func address(a *web.Asked) string {
	scheme := "http"
	if a.TLS != nil || a.Kit.Secure {
		scheme = "https"
	}
	return (&url.URL{Scheme: scheme, Host: a.Host}).String()
}

// label is what sticks on a can.
type label struct {
	Product *materialsv1.Product
	Code    Code
}

func can(w http.ResponseWriter, a *web.Asked) error {
	r, err := a.Kit.Suite.Materials.GetProduct(a.Context(), &materialsv1.GetProductRequest{Name: "products/" + a.PathValue("product")})
	if err != nil {
		return err
	}
	it := label{Product: r.Product}
	if it.Code, err = CodeOf(address(a) + "/cans/" + a.PathValue("product")); err != nil {
		return err
	}
	return a.Show(w, "can", a.Voice.T("tags.can.title", r.Product.DisplayName), it)
}
