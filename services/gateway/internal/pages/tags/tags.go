// Package tags prints what hangs on a piece, goes with its hardware and sticks on a can: a number that people read
// aloud, and a code that brings any phone to the page of the thing.
//
//	/pieces/{tag}/tag, /tags?piece=401&piece=402, /tags?all=yes ─▶ hang tags   code: {address as the browser has it}/pieces/{tag}
//	/tags/bags?piece=401 ────────────────────────────────────────▶ bag labels  the same code
//	/tags/can/{product} ─────────────────────────────────────────▶ can labels  code: {address}/cans/{product}
//
//	each also as PDF (pkg/printed, pkg/printed/tagged), on labels or paper of a size that is asked for
//
// Sizes on pages are in millimetres, by the style sheet for print.
package tags

import (
	"embed"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css
var files embed.FS

// Page is the tags.
func Page() web.Page {
	return web.Page{Files: files, Routes: map[string]web.Handler{
		"GET /pieces/{tag}/tag":         one,
		"GET /pieces/{tag}/tag.pdf":     onePDF,
		"GET /pieces/{tag}/receipt.pdf": receiptPDF,
		"GET /tags":                     several,
		"GET /tags.pdf":                 severalPDF,
		"GET /tags/bags":                bags,
		"GET /tags/bags.pdf":            bagsPDF,
		"GET /tags/can/{product}":       can,
		"GET /tags/can/{product}/pdf":   canPDF,
	}}
}

// mostTags is how many a page holds; a hang tag is a third of a sheet of paper.
const mostTags = 60

var (
	errNoNumber  = fault.New(fault.Invalid, "TAG_NUMBER_UNREADABLE", "Tag numbers are whole numbers such as 401, with a blank or a comma between them.").At("piece")
	errNeverSold = fault.New(fault.NotFound, "SALE_NOT_FOUND", "This piece was never sold, so there is no receipt.").At("sale")
	errTooMany   = fault.New(fault.Invalid, "TAGS_TOO_MANY", "A page holds at most 60 tags. Print the others after it, or all of them as PDF.").At("piece")
)

// sheet is the tags of one print.
type sheet struct {
	Tags  []hangTag
	Asked string // the numbers, as they were typed
	Print paper
	File  string // the way to the PDF of a single tag; empty: there are several
	// Of bags it asks what is in each, a line for each, in place of showing tags.
	OfBags bool
	Bags   string
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
	it := sheet{Print: paperOf(a, tagSize), File: a.URL.Path + ".pdf"}
	return it.show(w, a, []string{a.PathValue("tag")})
}

func several(w http.ResponseWriter, a *web.Asked) error {
	it, numbers, err := asked(a)
	if err == nil && len(numbers) > mostTags {
		err = errTooMany
	}
	if err != nil {
		return a.ShowRefused(w, "tags", a.Voice.T("tags.title"), it, err)
	}
	return it.show(w, a, numbers)
}

// asked reads which tags are asked for, and on what. Faults: TAG_NUMBER_UNREADABLE, LABELS_TOO_MANY, and those of
// the services.
func asked(a *web.Asked) (it sheet, numbers []string, err error) {
	given := a.URL.Query()["piece"]
	it = sheet{Asked: strings.Join(given, " "), Print: paperOf(a, tagSize)}
	if numbers, err = numbersOf(given); err == nil && a.URL.Query().Get("all") != "" {
		numbers, err = inHand(a)
		it.Asked = strings.Join(numbers, " ")
	}
	return it, numbers, err
}

// numbersOf reads tag numbers, given one by one or together. Faults: TAG_NUMBER_UNREADABLE, LABELS_TOO_MANY.
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
	if len(numbers) > printed.MostLabels {
		return nil, printed.ErrTooMany
	}
	return numbers, nil
}

// show shows tags as a page.
func (s sheet) show(w http.ResponseWriter, a *web.Asked, numbers []string) (err error) {
	if s.Tags, err = tagsOf(a, numbers); err != nil {
		return err
	}
	return a.Show(w, "tags", a.Voice.T("tags.title"), s)
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
	File    string
}

func can(w http.ResponseWriter, a *web.Asked) (err error) {
	it := label{File: a.URL.Path + "/pdf"}
	if it.Product, err = productOf(a); err != nil {
		return err
	}
	if it.Code, err = CodeOf(canAddress(a)); err != nil {
		return err
	}
	return a.Show(w, "can", a.Voice.T("tags.can.title", it.Product.DisplayName), it)
}

func productOf(a *web.Asked) (*materialsv1.Product, error) {
	r, err := a.Kit.Suite.Materials.GetProduct(a.Context(), &materialsv1.GetProductRequest{Name: "products/" + a.PathValue("product")})
	return r.GetProduct(), err
}

func canAddress(a *web.Asked) string { return address(a) + "/cans/" + a.PathValue("product") }
