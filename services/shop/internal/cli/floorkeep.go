package cli

import (
	"context"
	"time"

	"tackfree/services/shop/internal/client"
)

// keepReading reads the floor whenever it is stale, until ctx ends; a failure calls off the connection.
func (f *floorScreen) keepReading(ctx context.Context, shop *client.Shop, leave func()) error {
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-f.stale:
			if !pause(ctx, settles) {
				return nil
			}
		case <-time.After(readAnew):
		}
		read, err := readFloor(ctx, shop, f.titles, time.Now())
		if err != nil {
			leave()
			return err
		}
		f.change(func(v *floorView) {
			read.latest = v.latest
			*v = read
		})
	}
}

// pause waits; false when ctx ended meanwhile.
func pause(ctx context.Context, d time.Duration) bool {
	select {
	case <-ctx.Done():
		return false
	case <-time.After(d):
		return true
	}
}

// keepPainting paints what is to be shown when it changes, when the terminal does, and each second.
func (f *floorScreen) keepPainting(ctx context.Context) {
	resized := f.screen.resized(ctx)
	for {
		width, height := f.screen.size()
		f.mu.Lock()
		lines := f.view.lines(width, height, time.Now(), f.paint)
		f.mu.Unlock()
		if f.screen.paint(lines) != nil {
			return // nobody looks any more
		}
		select {
		case <-ctx.Done():
			return
		case <-resized:
		case <-f.wakes:
		case <-time.After(time.Second):
		}
	}
}
