package browser_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
)

// saves has the browser keep what it is given to keep in a folder, and gives that.
func (b *tab) saves() (folder string) {
	b.t.Helper()
	folder = b.t.TempDir()
	allow := browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: folder, BrowserContextID: chromedp.FromContext(b.ctx).BrowserContextID}
	if _, err := chromedp.Call(b.ctx, browser.SetDownloadBehavior, allow); err != nil {
		b.t.Fatal(err)
	}
	return folder
}

// saved waits for a file that the browser keeps.
func saved(t *testing.T, file string) []byte {
	t.Helper()
	for until := time.Now().Add(30 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		b, err := os.ReadFile(file)
		if err == nil && bytes.HasSuffix(bytes.TrimSpace(b), []byte("%%EOF")) {
			return b
		}
		if time.Now().After(until) {
			t.Fatalf("%s was not saved whole: %d bytes, %v", filepath.Base(file), len(b), err)
		}
	}
}

// A helper lays tags out on the page, and takes them, and labels for the hardware of one, as PDF.
func TestTags_AsPDF(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	b.signIn(helper, helperSecret)
	b.forgive = append(b.forgive, "400") // a sheet has no label 99
	looks(t, b, "tags", "/tags?piece=401")
	looks(t, b, "tags-bags", "/tags/bags?piece=401")
	b.do(chromedp.EmulateViewport(desk, 800))
	folder := b.saves()
	b.open("/pieces/401/tag")
	b.do(keys(`input[name="piece"]`, "401, 402"), over(`input[name="label"]`, "63.5x38.1"), click(`button[formaction="/tags.pdf"]`))
	if file := saved(t, filepath.Join(folder, "tags.pdf")); !bytes.HasPrefix(file, []byte("%PDF-")) {
		t.Errorf("tags.pdf begins with %.20q", file)
	}
	b.do(click(`a[href^="/tags/bags"]`))
	b.see("the page of bags", `document.querySelector("textarea[name=bag]") !== null`)
	b.do(over(`input[name="piece"]`, "401"), keys(`textarea[name="bag"]`, "two hinges"), click(`form[action="/tags/bags.pdf"] button`))
	if file := saved(t, filepath.Join(folder, "bags-401.pdf")); !bytes.HasPrefix(file, []byte("%PDF-")) {
		t.Errorf("bags-401.pdf begins with %.20q", file)
	}
	b.see("the form can be sent again", `!document.querySelector("form[action='/tags/bags.pdf']").dataset.sent`)
	b.do(over(`input[name="start"]`, "99"), click(`form[action="/tags/bags.pdf"] button`))
	b.see("what is wrong", `document.querySelector("[role=alert]")?.innerText.includes("no label of that number") && document.querySelector("textarea[name=bag]").value.includes("two hinges")`)
}
