package cli

import (
	"context"
	"errors"
	"os"
	"sync"
	"time"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// The floor on a screen:
//
//	WatchFloor ─▶ watcher.follow ─▶ what happened, a line ──┐
//	                   └─ something changed ─▶ floorReader ─┴▶ floorView ─▶ lines ─▶ screen, each second too
//
// What is shown is read anew from the shop a moment after something happened, and every ten seconds, for a promise
// goes by and a film dries also while nothing happens.
const (
	settles   = 150 * time.Millisecond
	readAnew  = 10 * time.Second
	keptLines = 200
)

// floorScreen shows the floor until somebody leaves.
type floorScreen struct {
	watcher
	screen *screen
	stale  chan struct{} // something is to be read anew
	wakes  chan struct{} // something is to be painted
	titles *client.Titles

	mu   sync.Mutex
	view floorView
}

// onScreen watches the floor on the terminal that the answer goes to.
func (c *watchCmd) onScreen(e *env) error {
	s, err := takeScreen(e.out.(*os.File), os.Stdin)
	if err != nil {
		return err
	}
	defer s.leave()
	ctx, leave := context.WithCancel(e.ctx)
	defer leave()
	s.untilLeft(leave)
	f := &floorScreen{screen: s, stale: make(chan struct{}, 1), wakes: make(chan struct{}, 1)}
	on := *e
	on.ctx, on.errs = ctx, &notice{f}
	f.watcher = watcher{vigil: vigil{env: &on}, cmd: c, asks: &workflowv1.WatchFloorRequest{Position: c.From}, tags: map[string]string{}, show: f.happened}
	var painting sync.WaitGroup
	painting.Go(func() { f.keepPainting(ctx) })
	err = f.watch(f.follow)
	leave()
	painting.Wait()
	return err
}

// notice is where a watch says that the shop is away; here it is a line of the screen.
type notice struct{ f *floorScreen }

// Write implements io.Writer.
func (n *notice) Write(b []byte) (int, error) {
	n.f.change(func(v *floorView) { v.away = true })
	return len(b), nil
}

// change changes what is shown.
func (f *floorScreen) change(how func(*floorView)) {
	f.mu.Lock()
	how(&f.view)
	f.mu.Unlock()
	wake(f.wakes)
}

func wake(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}

// follow reads the floor and what happens on it, over one connection.
func (f *floorScreen) follow(shop *client.Shop) error {
	f.titles = client.NewTitles(shop)
	ctx, leave := context.WithCancel(f.ctx)
	defer leave()
	broken := make(chan error, 1)
	wake(f.stale)
	go func() { broken <- f.keepReading(ctx, shop, leave) }()
	err := f.followUntil(ctx, shop)
	leave()
	if why := <-broken; why != nil && !errors.Is(why, context.Canceled) {
		return why
	}
	return err
}

// happened takes in what the shop tells.
func (f *floorScreen) happened(told *workflowv1.WatchFloorResponse) error {
	wake(f.stale)
	if told.Event == nil {
		return nil
	}
	of, err := f.pieceOf(told.Event)
	if err != nil {
		return err
	}
	line := happening{told.Event.OccurredAt.AsTime(), oneLine(of + told.Text)}
	f.change(func(v *floorView) {
		v.latest = append(v.latest, line)
		v.latest = v.latest[max(0, len(v.latest)-keptLines):]
	})
	return nil
}
