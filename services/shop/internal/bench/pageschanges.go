package bench

import (
	"bytes"
	"context"
	"fmt"
	"sync"
	"time"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// livePart is a part of the day as live.js keeps it.
type livePart struct {
	path     string
	subjects []string

	mu      sync.Mutex
	running bool
	again   bool
	tag     string
}

// livePage is the day in another browser: each part is fetched anew when its subject changes.
type livePage struct {
	*browser
	parts   []*livePart
	changed chan []byte // the part of the floor, when it is another
	failed  chan error
}

// afterward is how long live.js waits when something changed while it fetched a part.
const afterward = 150 * time.Millisecond

func newLivePage(b *browser) *livePage {
	return &livePage{browser: b, changed: make(chan []byte, 1000), failed: make(chan error, 1000), parts: []*livePart{
		{path: "/day/part/floor", subjects: []string{"floor"}}, {path: "/day/part/rack", subjects: []string{"floor"}},
		{path: "/day/part/waits", subjects: []string{"floor", "stock"}}, {path: "/day/part/stock", subjects: []string{"stock"}},
		{path: "/day/part/money", subjects: []string{"money"}},
	}}
}

// follow renews parts as the stream tells.
func (p *livePage) follow(ctx context.Context, told <-chan string) {
	for subject := range told {
		for _, part := range p.parts {
			for _, s := range part.subjects {
				if s == subject {
					go p.renew(ctx, part)
				}
			}
		}
	}
}

// renew fetches a part, and once more if it was to be renewed meanwhile.
func (p *livePage) renew(ctx context.Context, part *livePart) {
	part.mu.Lock()
	if part.running {
		part.again = true
		part.mu.Unlock()
		return
	}
	part.running, part.again = true, false
	tag := part.tag
	part.mu.Unlock()
	got, err := p.get(ctx, part.path, tag)
	part.mu.Lock()
	again := part.again
	part.running = false
	if err == nil && got.status == 200 {
		part.tag = got.tag
	}
	part.mu.Unlock()
	switch {
	case ctx.Err() != nil:
		return
	case err != nil:
		p.failed <- err
	case got.status == 200 && part == p.parts[0]:
		p.changed <- got.body
	case got.status != 200 && got.status != 304:
		p.failed <- fmt.Errorf("%s is answered with %d: %s", part.path, got.status, got.body)
	}
	if again {
		time.AfterFunc(afterward, func() { p.renew(ctx, part) })
	}
}

// patiencePages is how long a change may stay unseen before the measurement is given up.
const patiencePages = 10 * time.Second

// changes clocks somebody on or off at an even pace, and times each from its answer until another
// browser has what shows it.
func (b *pagesBench) changes(ctx context.Context, o Options, r *Pages) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	told, err := b.browser.events(ctx)
	if err != nil {
		return err
	}
	page := newLivePage(b.browser)
	go page.follow(ctx, told)
	r.Changes = int(max(o.Slice, time.Second)*time.Duration(o.Rounds)/pagesEach) + 1
	var lags []time.Duration
	pace := time.NewTicker(pagesEach)
	defer pace.Stop()
	for n := range r.Changes {
		<-pace.C
		lag, err := b.change(ctx, page, n)
		if err != nil {
			return err
		}
		lags = append(lags, lag)
	}
	r.SeenP50ms, r.SeenP99ms = percentile(lags, 0.50), percentile(lags, 0.99)
	o.Say("%d changes were seen by another browser", r.Changes)
	return nil
}

// change clocks one person on, or off whom the last change clocked on.
func (b *pagesBench) change(ctx context.Context, page *livePage, n int) (time.Duration, error) {
	who, on := firstChanging+n/2%pagesChanging, n%2 == 0
	r := b.clockOn(who)
	var err error
	if on {
		_, err = b.suite.Shop.Clocks.ClockOn(ctx, r)
	} else {
		_, err = b.suite.Shop.Clocks.ClockOff(ctx, &workflowv1.ClockOffRequest{RequestId: r.RequestId, Person: r.Person})
	}
	if err != nil {
		return 0, err
	}
	answered := time.Now()
	shows := fmt.Appendf(nil, "<strong>Helper %d</strong>", who)
	giveUp := time.After(patiencePages)
	for {
		select {
		case body := <-page.changed:
			if bytes.Contains(body, shows) == on {
				return time.Since(answered), nil
			}
		case err := <-page.failed:
			return 0, err
		case <-giveUp:
			return 0, fmt.Errorf("change %d of Helper %d is not seen within %s", n, who, patiencePages)
		}
	}
}
