package browser_test

import (
	_ "embed"
	"testing"

	"github.com/chromedp/chromedp"
)

//go:embed fair.js
var fairScript string

// fair fails when something is in the way of people who cannot see well, have no mouse, or a small phone.
func (b *tab) fair() {
	b.t.Helper()
	b.see("the page with its styles", `document.readyState === 'complete'`)
	for _, trouble := range ask[[]string](b, fairScript) {
		b.t.Errorf("%s: %s", ask[string](b, "location.pathname"), trouble)
	}
}

// looks opens a page at both widths, keeps pictures, and looks it over, in the dark too, and on a
// phone with all that is folded opened.
func looks(t *testing.T, b *tab, name, path string) {
	t.Helper()
	for _, width := range []int64{phone, desk} {
		b.do(chromedp.EmulateViewport(width, 800))
		b.open(path)
		b.fair()
		suffix := map[int64]string{phone: "-360", desk: "-1280"}[width]
		b.picture(name + suffix)
	}
	ask[string](b, `document.documentElement.dataset.theme = 'dark'`)
	b.fair()
	ask[int](b, `(() => { const all = [...document.querySelectorAll('details')]; all.forEach((d) => { d.open = true; }); return all.length; })()`)
	b.do(chromedp.EmulateViewport(phone, 800))
	b.fair()
}

// A page that has every fault is found out, so that what finds nothing can be believed.
func TestFair_CanFail(t *testing.T) {
	b := window(t, "", desk)
	b.do(chromedp.Navigate("data:text/html," + `<title></title><h3>a</h3><img src="data:,"><svg></svg><input><a href="x" tabindex="4" id=q></a><p id=q style="color:%23999;background:%23fff">faint</p><table><tr><td>1</table><div style="width:3000px">wide</div>`))
	found := map[string]bool{}
	for _, trouble := range ask[[]string](b, fairScript) {
		for i, r := range trouble {
			if r == ':' {
				found[trouble[:i]] = true
				break
			}
		}
	}
	for _, rule := range []string{"no language", "no title", "not one h1", "not one main", "heading skips a level", "id twice", "picture without words",
		"drawing without words", "no name", "table without headings", "table without a name", "too faint", "wider than the window"} {
		if !found[rule] {
			t.Errorf("not found: %s (found %v)", rule, found)
		}
	}
}
