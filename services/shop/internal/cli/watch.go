package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"tackfree/pkg/fault"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

type watchCmd struct {
	output
	From  string `help:"From where to go on, as the last line said; without it, from now on." placeholder:"POSITION"`
	Piece string `help:"Only of this piece." placeholder:"TAG"`
	Lines bool   `help:"A line for each thing that happens, also on a terminal."`
}

// Help implements kong.HelpProvider.
func (watchCmd) Help() string {
	return "On a terminal: who is at what and for how long, what dries until when, what is ready and for whom, what waits for somebody, and what just happened; " +
		"q or Ctrl-C leaves. Elsewhere, and with --lines, --json or --piece: a line for each thing that happens on the floor. While the shop is away it is asked again until it is back. " +
		"The last word of a line is its position: watch again --from that of the last line, and nothing is left out or shown twice."
}

func (c *watchCmd) Run(e *env) error {
	if onTerminal(e.out) && !c.Lines && !c.JSON && c.Piece == "" {
		return c.onScreen(e)
	}
	w := &watcher{vigil: vigil{env: e}, cmd: c, asks: &workflowv1.WatchFloorRequest{Position: c.From}, tags: map[string]string{}}
	w.show = func(told *workflowv1.WatchFloorResponse) error {
		return c.print(e, told, func() error { return w.print(told) })
	}
	return w.watch(w.follow)
}

// pauses are how long to wait before a shop that went away is asked again: longer each time, up
// to the last.
var pauses = []time.Duration{100 * time.Millisecond, 500 * time.Millisecond, 2 * time.Second, 5 * time.Second, 15 * time.Second}

// vigil is a watch that goes on while the shop comes and goes.
type vigil struct {
	*env
	shop  *client.Shop // nil: it cannot be found
	begun bool         // the shop has answered
	tries int          // in vain, since it last did
}

// watcher watches the floor, and remembers what pieces are called.
type watcher struct {
	vigil
	cmd  *watchCmd
	asks *workflowv1.WatchFloorRequest // its position is where to go on
	tags map[string]string             // by piece id
	show func(*workflowv1.WatchFloorResponse) error
}

// watch watches until somebody stops it, over any number of connections, each of which follow
// follows to its end.
func (w *vigil) watch(follow func(*client.Shop) error) error {
	for {
		w.shop = nil
		err := w.with(func(shop *client.Shop) error {
			w.shop = shop
			return follow(shop)
		})
		switch away := w.shop == nil || errors.Is(err, fault.Unavailable) || errors.Is(err, context.Canceled); {
		case errors.Is(err, io.EOF), w.ctx.Err() != nil:
			return nil
		case !w.begun, !away && !fault.Is(err, "WATCHER_SLOW"):
			return err
		case away && w.tries == 0:
			fmt.Fprintln(w.errs, "shop: the shop went away; the watch goes on as soon as it is back.")
		}
		select {
		case <-w.ctx.Done():
			return nil
		case <-time.After(pauses[min(w.tries, len(pauses)-1)]):
			w.tries++
		}
	}
}

// follow shows what one connection tells, until it ends. Each time the shop is looked for anew:
// it may have come back elsewhere.
func (w *watcher) follow(shop *client.Shop) error {
	ctx, leave := context.WithCancel(w.ctx)
	defer leave()
	return w.followUntil(ctx, shop)
}

func (w *watcher) followUntil(ctx context.Context, shop *client.Shop) error {
	if w.cmd.Piece != "" && w.asks.Piece == "" {
		p, err := shop.Piece(w.ctx, w.cmd.Piece)
		if err != nil {
			return err
		}
		w.asks.Piece = p.Name
	}
	stream, err := w.shop.Floor.WatchFloor(ctx, w.asks)
	if err != nil {
		return err
	}
	for {
		told, err := stream.Recv()
		if err != nil {
			return err
		}
		again := w.begun && told.Event == nil
		w.begun, w.tries = true, 0
		if !again {
			if err := w.show(told); err != nil {
				return err
			}
		}
		w.asks.Position = told.Position
	}
}

// print prints a line: when it was, of which piece, what happened, who wrote it down, and from
// where to go on.
func (w *watcher) print(told *workflowv1.WatchFloorResponse) error {
	if told.Event == nil {
		_, err := fmt.Fprintf(w.out, "watching from  %s\n", told.Position)
		return err
	}
	terms, err := w.shop.Terms(w.ctx)
	if err != nil {
		return err
	}
	of, err := w.pieceOf(told.Event)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w.out, "%s  %s%s (%s)  %s\n", terms.Clock(told.Event.OccurredAt), of, told.Text, told.Event.Actor, told.Position)
	return err
}

// pieceOf names the piece of an event; empty: it is about none.
func (w *watcher) pieceOf(e *eventsv1.Envelope) (string, error) {
	id := e.PieceId
	if id == "" {
		id = e.GetStageLeftBatch().GetPieceId()
	}
	if id == "" {
		return "", nil
	}
	if w.tags[id] == "" {
		p, err := w.shop.Piece(w.ctx, "pieces/"+id)
		if err != nil {
			return "", err
		}
		w.tags[id] = fmt.Sprintf("piece %d: ", p.Tag)
	}
	return w.tags[id], nil
}
