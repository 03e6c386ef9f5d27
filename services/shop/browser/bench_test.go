package browser_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"tackfree/pkg/caller"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"
)

const newcomerPIN = "571946"

// newcomer is a helper of this test alone, whose clock nobody else touches.
func newcomer(t *testing.T, s *suite.Suite, name string) (person string) {
	t.Helper()
	ctx := asOwner(t)
	r, err := s.Shop.People.AddPerson(ctx, &workflowv1.AddPersonRequest{RequestId: newID(), DisplayName: name, Skills: []string{"sand", "finish"}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Shop.SignIn.SetPin(ctx, &workflowv1.SetPinRequest{Person: r.Person.Name, Pin: newcomerPIN}); err != nil {
		t.Fatal(err)
	}
	return r.Person.Name
}

func asOwner(t *testing.T) context.Context {
	return caller.With(t.Context(), caller.Caller{Actor: owner})
}

// entriesOf are all that was ever clocked for somebody.
func entriesOf(t *testing.T, s *suite.Suite, person string) []*workflowv1.ClockEntry {
	t.Helper()
	r, err := s.Shop.Clocks.ListClockEntries(asOwner(t), &workflowv1.ListClockEntriesRequest{Person: person, PageSize: 100})
	if err != nil {
		t.Fatal(err)
	}
	return r.ClockEntries
}

// phoneOf is somebody's phone at the bench, over a link that can be cut.
func phoneOf(t *testing.T, s *suite.Suite, name string) (*tab, *link) {
	t.Helper()
	l := reach(t, s.PagesURL())
	b := window(t, l.URL, phone)
	b.forgive = append(b.forgive, "401", "net::ERR_")
	b.signIn(name, newcomerPIN)
	b.atBench(name)
	b.see("a service worker that looks after the page", `navigator.serviceWorker.ready.then(() => true)`)
	return b, l
}

func (b *tab) atBench(name string) {
	b.t.Helper()
	b.open("/bench")
	b.see("the bench of "+name, fmt.Sprintf(`document.getElementById('who').textContent === %q && !document.getElementById('other-box').hidden`, name))
}

const big = `document.getElementById('big').textContent`

// other begins work that belongs to no piece, as people do: open the list, choose, press the large button.
func (b *tab) other(kind string) {
	b.t.Helper()
	if !ask[bool](b, `document.getElementById('other-box').open`) {
		b.do(click("#other-box summary"))
	}
	b.do(click("[data-indirect=" + kind + "]"))
	b.see("the button offers it", big+`.includes(document.querySelector('[data-indirect=`+kind+`]').dataset.title)`)
	b.do(click("#big"))
}

func (b *tab) offline(l *link) {
	b.t.Helper()
	l.sever()
	b.offlineIs(true)
	b.see("the page says that the shop is away", `!document.getElementById('away').hidden`)
}

func (b *tab) online(l *link) {
	b.t.Helper()
	l.mend()
	b.offlineIs(false)
}

func (b *tab) offlineIs(off bool) {
	b.t.Helper()
	if _, err := chromedp.Call(b.ctx, network.Enable, network.EnableParams{}); err != nil {
		b.t.Fatal(err)
	}
	if _, err := chromedp.Call(b.ctx, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: off, DownloadThroughput: -1, UploadThroughput: -1}); err != nil {
		b.t.Fatal(err)
	}
}

const (
	waitsOne   = `document.getElementById('waiting').children.length === 1 && !document.getElementById('waiting-box').hidden`
	waitsNone  = `document.getElementById('waiting-box').hidden && document.getElementById('away').hidden`
	onTheClock = big + `.startsWith('Clock off')`
	offIt      = `!` + big + `.startsWith('Clock off') && !` + big + `.startsWith('Sending')`
)

// near fails when a time is not within two seconds of another.
func near(t *testing.T, what string, got, want time.Time) {
	t.Helper()
	if got.Sub(want).Abs() > 2*time.Second {
		t.Errorf("%s = %v, want about %v", what, got, want)
	}
}

// Out of reach a phone goes on clocking, shows what waits through a reload, and sends it once, with the times of the
// presses.
func TestBench_Offline(t *testing.T) {
	s := floor(t)
	person := newcomer(t, s, "Liv")
	b, l := phoneOf(t, s, "Liv")
	began := time.Now()
	b.other("cleaning")
	b.see("on the clock", onTheClock)
	b.offline(l)
	ended := time.Now()
	b.do(click("#big"))
	b.see("the end waits", waitsOne)
	b.open("/bench")
	b.see("it waits through a reload", waitsOne+` && document.getElementById('who').textContent === 'Liv'`)
	b.fair()
	b.picture("bench-offline")
	if e := entriesOf(t, s, person); len(e) != 1 || e[0].EndTime != nil {
		t.Fatalf("before it was sent: %v, want one that runs", e)
	}
	b.online(l)
	b.see("all is sent", waitsNone)
	e := entriesOf(t, s, person)
	if len(e) != 1 || e[0].EndTime == nil || e[0].Indirect != "cleaning" || !strings.HasPrefix(e[0].Device, "phone ") {
		t.Fatalf("sent: %v, want one cleaning that has ended, by a phone; the page says:\n%s", e, b.text("body"))
	}
	near(t, "start", e[0].StartTime.AsTime(), began)
	near(t, "end", e[0].EndTime.AsTime(), ended)
}

// An answer that was lost is asked for again, under the same id; what is pressed meanwhile comes after it.
func TestBench_LostAnswer(t *testing.T) {
	s := floor(t)
	person := newcomer(t, s, "Maud")
	b, l := phoneOf(t, s, "Maud")
	l.loses("/bench/clock")
	began := time.Now()
	b.other("training")
	b.see("nobody knows whether it was done, so it waits", waitsOne)
	if e := entriesOf(t, s, person); len(e) != 1 {
		t.Fatalf("the shop did it: %v, want one entry", e)
	}
	ended := time.Now()
	b.do(click("#big"))
	b.see("so does the end", `document.getElementById('waiting').children.length === 2`)
	b.online(l)
	b.see("all is sent", waitsNone)
	e := entriesOf(t, s, person)
	if len(e) != 1 || e[0].EndTime == nil {
		t.Fatalf("sent: %v, want one entry that has ended", e)
	}
	near(t, "start", e[0].StartTime.AsTime(), began)
	near(t, "end", e[0].EndTime.AsTime(), ended)
	if n := l.times("/bench/clock"); n != 2 {
		t.Errorf("the press was heard %d times, want 2: once lost, once answered", n)
	}
}

// What the shop has no time for at that moment is asked again, pressed just now or kept.
func TestBench_Crowded(t *testing.T) {
	s := floor(t)
	person := newcomer(t, s, "Lone")
	b, l := phoneOf(t, s, "Lone")
	b.forgive = append(b.forgive, "409")
	l.turnsAway("/bench/clock")
	b.other("cleaning")
	b.see("on the clock all the same", onTheClock+" && "+waitsNone)
	b.offline(l)
	b.do(click("#big"))
	b.see("the end waits", waitsOne)
	l.turnsAway("/bench/entry")
	b.online(l)
	b.see("all is sent", waitsNone)
	if e := entriesOf(t, s, person); len(e) != 1 || e[0].EndTime == nil {
		t.Errorf("sent: %v, want one entry that has ended", e)
	}
	if on, ends := l.times("/bench/clock"), l.times("/bench/entry"); on != 2 || ends != 2 {
		t.Errorf("the start was heard %d times and the end %d, want 2 each: once turned away, once taken", on, ends)
	}
}

// Two tabs of one phone share what waits, and send it once.
func TestBench_TwoTabs(t *testing.T) {
	s := floor(t)
	person := newcomer(t, s, "Nils")
	b, l := phoneOf(t, s, "Nils")
	other := b.another()
	other.atBench("Nils")
	b.offline(l)
	other.offlineIs(true)
	b.other("cleaning")
	b.see("the start waits", waitsOne)
	other.see("the other tab shows it", waitsOne+" && "+onTheClock)
	other.do(click("#big"))
	other.see("its end is part of it", waitsOne+" && "+offIt)
	l.mend()
	other.offlineIs(false)
	b.offlineIs(false)
	b.see("all is sent", waitsNone)
	other.see("all is sent", waitsNone)
	if e := entriesOf(t, s, person); len(e) != 1 || e[0].EndTime == nil {
		t.Errorf("sent: %v, want one entry that has ended", e)
	}
	if n := l.times("/bench/entry"); n != 1 {
		t.Errorf("it was sent %d times, want once", n)
	}
}

// What contradicts other entries is with the lead, and the phone says why until somebody has read it.
func TestBench_GoesToTheLead(t *testing.T) {
	s := floor(t)
	person := newcomer(t, s, "Orla")
	b, l := phoneOf(t, s, "Orla")
	b.offline(l)
	b.other("cleaning")
	b.see("the start waits", waitsOne)
	if _, err := s.Shop.Clocks.ClockOn(asOwner(t), &workflowv1.ClockOnRequest{RequestId: newID(), Person: person, Indirect: "training"}); err != nil {
		t.Fatal(err)
	}
	b.do(click("#big"))
	b.see("off again", offIt)
	b.online(l)
	b.see("what is with the lead is said", `document.getElementById('turned').textContent.includes('The lead decides')`)
	b.picture("bench-lead")
	r, err := s.Shop.Reviews.ListClockReviews(asOwner(t), &workflowv1.ListClockReviewsRequest{Person: person})
	if err != nil || len(r.ClockReviews) != 1 {
		t.Errorf("reviews = %v, %v, want one", r, err)
	}
	b.do(click("#turned button"))
	b.see("it was read", `document.getElementById('turned-box').hidden`)
}

// What others do with somebody's clock shows on their phone without a reload.
func TestBench_Live(t *testing.T) {
	s := floor(t)
	person := newcomer(t, s, "Pia")
	b, _ := phoneOf(t, s, "Pia")
	b.see("she is on nothing", offIt)
	b.do(click("#other-box summary"), click("[data-indirect=cleaning]"))
	if _, err := s.Shop.Clocks.ClockOn(asOwner(t), &workflowv1.ClockOnRequest{RequestId: newID(), Person: person, Indirect: "training"}); err != nil {
		t.Fatal(err)
	}
	b.see("what the shop knows is shown without a reload", big+`.startsWith('Go over to')`)
	b.do(click("#stay"))
	b.see("she can clock off", onTheClock)
	if _, err := s.Shop.Clocks.ClockOff(asOwner(t), &workflowv1.ClockOffRequest{RequestId: newID(), Person: person}); err != nil {
		t.Fatal(err)
	}
	b.see("that too", offIt)
}

// What one person pressed is never sent as another, nor lost when they are signed out.
func TestBench_AnotherPerson(t *testing.T) {
	s := floor(t)
	first, second := newcomer(t, s, "Quirin"), newcomer(t, s, "Runa")
	b, l := phoneOf(t, s, "Quirin")
	b.offline(l)
	b.other("cleaning")
	b.see("the start waits", waitsOne)
	if _, err := chromedp.Call(b.ctx, network.ClearBrowserCookies, cdp.Empty{}); err != nil {
		t.Fatal(err)
	}
	b.online(l)
	b.see("he has to sign in", `!document.getElementById('stranger').hidden`)
	b.signIn("Runa", newcomerPIN)
	b.atBench("Runa")
	b.see("nothing of his waits here", waitsNone)
	b.other("training")
	b.see("her clock runs", onTheClock)
	if e := entriesOf(t, s, first); len(e) != 0 {
		t.Errorf("his entries = %v, want none", e)
	}
	if e := entriesOf(t, s, second); len(e) != 1 || e[0].Indirect != "training" {
		t.Errorf("her entries = %v, want her own one", e)
	}
	b.do(click(".who form button"))
	b.settles("she is signed out", `document.querySelector('input[name=secret]') !== null`)
	b.signIn("Quirin", newcomerPIN)
	b.atBench("Quirin")
	b.see("it was sent", waitsNone+" && "+onTheClock)
	if e := entriesOf(t, s, first); len(e) != 1 || e[0].Indirect != "cleaning" {
		t.Errorf("his entries = %v, want the one that he pressed", e)
	}
}

// The code on a can opens the page that takes of it; the piece is typed, the amount goes in steps.
func TestBench_TakeMaterial(t *testing.T) {
	s := floor(t)
	newcomer(t, s, "Sanna")
	b, _ := phoneOf(t, s, "Sanna")
	product, tag := somePaint(t, s), somePiece(t, s)
	b.open("/cans/" + strings.TrimPrefix(product, "products/"))
	b.do(keys("input[name=piece]:not([type=hidden])", tag), click("form[method=get] button:not([type])"))
	b.settles("the piece's stages can be chosen", `document.querySelector('input[name=piece]').value === '`+tag+`' && document.querySelector('select[name=stage]').options.length > 0 && location.search.includes('piece=`+tag+`')`)
	b.do(click("[data-step='1']"), click("[data-step='1']"))
	b.see("two steps", `document.getElementById('amount').value === '4'`)
	b.fair()
	b.picture("bench-take-can")
	stage := ask[string](b, `document.querySelector('select[name=stage]').value`)
	b.do(click("form[method=post].form .big"))
	b.settles("it is noted", `document.querySelector('.said') !== null && location.pathname === '/bench'`)
	r, err := s.Shop.Materials.ListIssues(asOwner(t), &materialsv1.ListIssuesRequest{Product: product, PageSize: 1})
	if err != nil || len(r.Issues) != 1 || r.Issues[0].Stage != stage || r.Issues[0].Actor != "Sanna" {
		t.Errorf("issued = %v, %v, want to %s by Sanna", r, err, stage)
	}
}

func somePaint(t *testing.T, s *suite.Suite) string {
	t.Helper()
	r, err := s.Shop.Materials.ListProducts(asOwner(t), &materialsv1.ListProductsRequest{Search: "chalk blue"})
	if err != nil || len(r.Products) == 0 {
		t.Fatal(r, err)
	}
	return r.Products[0].Name
}

// somePiece is the tag of one that has work ahead of it.
func somePiece(t *testing.T, s *suite.Suite) string {
	t.Helper()
	r, err := s.Shop.Floor.ListBoard(asOwner(t), &workflowv1.ListBoardRequest{States: []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_READY}, PageSize: 1})
	if err != nil || len(r.Lines) == 0 {
		t.Fatal(r, err)
	}
	return fmt.Sprint(r.Lines[0].PieceTag)
}

// Script in a name or in what is typed is shown as what it is.
func TestBench_ScriptIsText(t *testing.T) {
	s := floor(t)
	const name = `<img src=x onerror=alert(1)>`
	newcomer(t, s, name)
	b, _ := phoneOf(t, s, name)
	b.open("/bench/take?search=" + `%3Cscript%3Ealert(1)%3C/script%3E`)
	b.see("it is shown as typed", `document.body.innerText.includes('<script>alert(1)</script>') && !document.querySelector('main script, main img')`)
}

func TestBench_Looks(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), phone)
	b.forgive = append(b.forgive, "401")
	b.signIn(helper, helperSecret)
	for width, name := range map[int64]string{phone: "bench-360", desk: "bench-1280"} {
		b.do(chromedp.EmulateViewport(width, 800))
		b.atBench(helper)
		b.fair()
		b.picture(name)
		ask[string](b, `document.documentElement.dataset.theme = 'dark'`)
		b.fair()
		b.picture(name + "-dark")
	}
	tag := somePiece(t, s)
	for name, path := range map[string]string{"bench-take": "/bench/take", "bench-can": "/cans/" + strings.TrimPrefix(somePaint(t, s), "products/"),
		"bench-photo": "/bench/photo?piece=" + tag, "bench-defect": "/bench/photo?moment=defect&piece=" + tag} {
		looks(t, b, name, path)
	}
}

// settles waits until a script's condition holds on the page that comes after this one: while one goes and the other
// comes there is none to ask.
func (b *tab) settles(what, condition string) {
	b.t.Helper()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); {
		holds, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("document.readyState === 'complete' && "+condition))
		if err == nil && holds {
			return
		}
	}
	b.t.Fatalf("%s: not seen; the page says:\n%s", what, b.text("body"))
}

// another opens a second tab of the same phone.
func (b *tab) another() *tab {
	b.t.Helper()
	ctx, closeTab := chromedp.NewContext(b.ctx)
	b.t.Cleanup(closeTab)
	other := &tab{t: b.t, ctx: ctx, base: b.base, forgive: b.forgive}
	if err := chromedp.Do(ctx); err != nil {
		b.t.Fatal(err)
	}
	if err := chromedp.Listen(ctx, other.hear); err != nil {
		b.t.Fatal(err)
	}
	b.t.Cleanup(other.quiet)
	return other
}
