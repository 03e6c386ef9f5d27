package browser_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"tackfree/pkg/id"
)

func newID() string { return id.New().String() }

// Widths at which each page is looked at: a small phone, and a desk.
const (
	phone = 360
	desk  = 1280
)

// tab is a window of somebody's own: other cookies than any other's.
type tab struct {
	t    *testing.T
	ctx  context.Context
	base string

	mu       sync.Mutex
	troubles []string // errors of the console, violations of the policy, exceptions
	forgive  []string // what of them is expected
}

// window opens a browser window of its own, which must end without trouble.
func window(t *testing.T, base string, width int64) *tab {
	t.Helper()
	present(t)
	browser, err := chromium()
	if err != nil {
		t.Fatal(err)
	}
	ctx, closeTab := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(closeTab)
	if err := chromedp.Do(ctx); err != nil { // the first step of a tab outlives no deadline
		t.Fatal(err)
	}
	b := &tab{t: t, ctx: ctx, base: base}
	b.do(chromedp.EmulateViewport(width, 800))
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, log.Enable, cdp.Empty{}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.quiet)
	return b
}

// hear notes trouble.
func (b *tab) hear(event any) {
	text := ""
	switch e := event.(type) {
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || strings.Contains(e.Entry.Text, "Content Security Policy") {
			text = fmt.Sprintf("%s: %s (%s)", e.Entry.Source, e.Entry.Text, e.Entry.URL)
		}
	case *runtime.EventExceptionThrown:
		text = "exception: " + e.ExceptionDetails.Text
		if e.ExceptionDetails.Exception != nil {
			text += " " + e.ExceptionDetails.Exception.Description
		}
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError {
			text = "console.error"
		}
	}
	if text == "" {
		return
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.troubles = append(b.troubles, text)
}

// quiet fails the test of a window that had trouble nobody expected.
func (b *tab) quiet() {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, trouble := range b.troubles {
		expected := false
		for _, f := range b.forgive {
			expected = expected || strings.Contains(trouble, f)
		}
		if !expected {
			b.t.Errorf("the browser complains: %s", trouble)
		}
	}
}

// do lets the browser do steps within a minute.
func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, time.Minute)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// open goes to a path of the shop.
func (b *tab) open(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.base + path))
}

// signIn signs somebody in who then is at their own page.
func (b *tab) signIn(name, secret string) {
	b.t.Helper()
	b.open("/sign-in")
	b.do(keys("input[name=name]", name), keys("input[name=secret]", secret),
		click("main form button"), chromedp.WaitVisible(".who form button"))
}

// see waits until a script's condition holds: longer than the half minute in which alerts are all looked at anew. A page that gives way to the next meanwhile is no trouble:
// the next is looked at.
func (b *tab) see(what, condition string) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 45*time.Second)
	defer cancel()
	for {
		holds, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+condition+")"))
		switch {
		case holds:
			return
		case ctx.Err() != nil:
			b.t.Fatalf("%s: not seen: %v; the page says:\n%s", what, err, b.text("body"))
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// text gives what a part of the page says.
func (b *tab) text(selector string) string {
	b.t.Helper()
	return ask[string](b, `(document.querySelector(`+fmt.Sprintf("%q", selector)+`)||{innerText:''}).innerText`)
}

// ask evaluates a script.
func ask[T any](b *tab, script string) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 20*time.Second)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script))
	if err != nil {
		b.t.Fatalf("%s: %v", script, err)
	}
	return v
}

// picture keeps a picture of the whole page among the test's artifacts.
func (b *tab) picture(name string) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 20*time.Second)
	defer cancel()
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(b.t.ArtifactDir(), name+".png"), png, 0o644); err != nil {
		b.t.Fatal(err)
	}
}
