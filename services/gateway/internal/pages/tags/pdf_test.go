package tags_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// says fails unless a text says all of it.
func says(t *testing.T, text string, all ...string) {
	t.Helper()
	for _, s := range all {
		if !strings.Contains(text, s) {
			t.Errorf("it does not say %q: %s", s, text)
		}
	}
}

// A tag says as PDF what it says as a page; metres go with A4, feet with Letter.
func TestPDF_One(t *testing.T) {
	pages, box := file(t, get(t, 9, "/pieces/401/tag.pdf", "en-GB", true), "tag-401.pdf")
	if len(pages) != 1 || box.Index(3).Float64() < 841 {
		t.Errorf("%d pages, %v", len(pages), box)
	}
	says(t, pages[0], "401\n", "Dresser 401\n", "dresser\n", "top · 4 × drawers\n", "Promised 20 Mar 2026,\n16:00\n", "Not tested: presume LEAD: drawers.")
	_, box = file(t, get(t, 9, "/pieces/401/tag.pdf", "en-US", true), "tag-401.pdf")
	if h := box.Index(3).Float64(); h != 792 {
		t.Errorf("for feet it is %.0f points high", h)
	}
	pages, _ = file(t, get(t, 9, "/pieces/401/tag.pdf", "es", true), "tag-401.pdf")
	says(t, pages[0], "Prometida: 20 mar 2026, 16:00\n", "Sin prueba: da por hecho")
}

func TestPDF_Several(t *testing.T) {
	pages, _ := file(t, get(t, 9, "/tags.pdf?piece=401,+404&piece=405&label=63.5x38.1&paper=a4&start=20", "en", true), "tags.pdf")
	if len(pages) != 2 {
		t.Fatalf("%d pages, want 2", len(pages))
	}
	says(t, pages[0], "401\n", "404\n")
	says(t, pages[1], "405\n")
}

// In hand is what was neither given up nor sold.
func TestPDF_AllInHand(t *testing.T) {
	pages, _ := file(t, get(t, 9, "/tags.pdf?all=yes", "en", true), "tags.pdf")
	all := strings.Join(pages, "")
	says(t, all, "401\n", "403\n", "406\n", "407\n", "409\n")
	for _, gone := range []string{"\n402\n", "\n404\n", "\n405\n", "\n408\n"} {
		if strings.Contains(all, gone) {
			t.Errorf("it says %q", gone)
		}
	}
	if w := get(t, 9, "/tags?all=yes", "en", true); strings.Count(w.Body.String(), `class="hang"`) != 5 || !strings.Contains(w.Body.String(), `value="401 403 406 407 409"`) {
		t.Errorf("the page has other tags: %s", w.Body)
	}
}

// A page has sixty tags at most, and says that there is more room on paper.
func TestPDF_MoreThanAPage(t *testing.T) {
	w := get(t, 150, "/tags?all=yes", "en", true)
	if w.Code != http.StatusBadRequest {
		t.Errorf("status %d", w.Code)
	}
	says(t, w.Body.String(), "at most 60 tags", `value="401 403 406`, `formaction="/tags.pdf"`)
	if pages, _ := file(t, get(t, 150, "/tags.pdf?all=yes", "en", true), "tags.pdf"); len(pages) != 13 {
		t.Errorf("99 tags take %d pages, want 13 of 8", len(pages))
	}
}

func TestPDF_Bags(t *testing.T) {
	says(t, get(t, 9, "/tags/bags?piece=401", "en", true).Body.String(), `value="401"`, "Labels for hardware bags", `action="/tags/bags.pdf"`)
	query := url.Values{"piece": {"401"}, "bag": {"drawers: 8 pulls, 16 screws\r\ntwo keys\r\n"}}
	pages, _ := file(t, get(t, 9, "/tags/bags.pdf?"+query.Encode(), "en", true), "bags-401.pdf")
	says(t, pages[0], "Bag 1 of 2 · 4 × drawers\n8 pulls, 16 screws\nDresser 401\nTaken off 18 Mar 2026\n", "Bag 2 of 2\ntwo keys\n")
	pages, _ = file(t, get(t, 9, "/tags/bags.pdf?piece=401", "es", true), "bags-401.pdf")
	says(t, pages[0], "Bolsa 1 de 2 · top\n_____", "Bolsa 2 de 2 · 4 × drawers\n")
}

func TestPDF_Can(t *testing.T) {
	pages, _ := file(t, get(t, 9, "/tags/can/42/pdf", "en", true), "can.pdf")
	says(t, pages[0], "Gel stripper\n", "Millrace\n", "Opened on:", "Hazards: H225.", "Read the safety data sheet")
	says(t, get(t, 9, "/tags/can/42", "en", true).Body.String(), `href="/tags/can/42/pdf"`)
}

// What is wrong is said where it was typed, with what was typed.
func TestPDF_Refused(t *testing.T) {
	for address, want := range map[string]struct {
		status int
		says   []string
	}{
		"/tags.pdf?piece=4x1":                                         {400, []string{"Tag numbers are whole numbers", `value="4x1"`}},
		"/tags.pdf?piece=399":                                         {404, []string{"There is no piece", `value="399"`}},
		"/tags.pdf":                                                   {400, []string{"There is nothing to print."}},
		"/tags.pdf?piece=401&label=huge":                              {400, []string{"Say the size of a label", `value="huge"`}},
		"/tags.pdf?piece=401&label=400x400":                           {400, []string{"do not fit on the paper"}},
		"/tags.pdf?piece=401&label=20x20":                             {400, []string{"The label is too small"}},
		"/tags.pdf?piece=401&paper=a5":                                {400, []string{"Paper is a4 or letter"}},
		"/tags.pdf?piece=401&start=9":                                 {400, []string{"no label of that number", `value="9"`}},
		"/tags.pdf?piece=401&start=-1":                                {400, []string{"no label of that number"}},
		"/tags.pdf?piece=401&start=x":                                 {400, []string{"no label of that number"}},
		"/tags.pdf?piece=" + strings.Repeat("401+", 1001):             {400, []string{"At most 1000 labels"}},
		"/tags/bags.pdf?piece=":                                       {400, []string{"Tag numbers are whole numbers"}},
		"/tags/bags.pdf?piece=401,402&bag=x":                          {400, []string{"Tag numbers are whole numbers", ">x</textarea>"}},
		"/tags/bags.pdf?piece=77":                                     {404, []string{"There is no piece"}},
		"/tags/bags.pdf?piece=401&bag=" + strings.Repeat("x%0A", 101): {400, []string{"At most 100 bags"}},
		"/pieces/399/tag.pdf":                                         {404, []string{"There is no piece"}},
	} {
		w := get(t, 9, address, "en", true)
		if w.Code != want.status || w.Header().Get("Content-Disposition") != "" || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
			t.Errorf("%.60s: status %d, headers %v, want %d as a page", address, w.Code, w.Header(), want.status)
		}
		says(t, w.Body.String(), want.says...)
	}
	says(t, get(t, 9, "/tags.pdf?piece=401&start=9", "es", true).Body.String(), "La hoja no tiene ninguna etiqueta")
}

// Nobody gets a tag who has not signed in.
func TestPDF_SignedIn(t *testing.T) {
	for _, address := range []string{"/pieces/401/tag.pdf", "/tags.pdf?piece=401", "/tags/bags.pdf?piece=401", "/tags/can/42/pdf"} {
		if w := get(t, 9, address, "en", false); w.Code != http.StatusSeeOther || w.Header().Get("Content-Type") == "application/pdf" {
			t.Errorf("%s: status %d, %s", address, w.Code, w.Header().Get("Content-Type"))
		}
	}
}
