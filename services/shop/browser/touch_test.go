package browser_test

import (
	"context"
	"fmt"
	"time"

	"github.com/chromedp/chromedp"
)

// A page is loaded, and then moves a little while what is live in it is fetched: a hand waits until
// what it reaches for stands still and nothing lies over it, and so do these.

// whereIs gives the middle of the first line of an element that can be reached, else nothing.
const whereIs = `(() => {
	const e = document.querySelector(%q);
	if (!e || document.readyState !== 'complete') return [];
	e.scrollIntoView({block: 'center', inline: 'center', behavior: 'instant'});
	const r = e.getClientRects()[0];
	if (!r || !r.width || !r.height) return [];
	const x = r.x + r.width / 2, y = r.y + r.height / 2;
	return e.contains(document.elementFromPoint(x, y)) ? [x, y] : [];
})()`

// takesKeys gives the focus to an element, marks what is in it if that is asked for, and tells whether it has it.
const takesKeys = `(() => {
	const e = document.querySelector(%q);
	if (!e || document.readyState !== 'complete' || !e.getClientRects().length) return false;
	e.focus();
	if (%t) e.select();
	return document.activeElement === e;
})()`

// click presses an element where it stands still.
func click(selector string) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		for last := []float64(nil); ; time.Sleep(20 * time.Millisecond) {
			at, err := chromedp.Evaluate[[]float64](fmt.Sprintf(whereIs, selector))(ctx, t)
			if ctx.Err() != nil {
				return fmt.Errorf("%s cannot be clicked: %w", selector, ctx.Err())
			}
			if err != nil || len(at) == 0 { // the page gives way to the next, or it is not shown yet
				last = nil
				continue
			}
			if last != nil && at[0] == last[0] && at[1] == last[1] {
				_, err := chromedp.MouseClickXY(at[0], at[1])(ctx, t)
				return err
			}
			last = at
		}
	})
}

// keys types a text into an element that is shown.
func keys(selector, text string) chromedp.Action[chromedp.Void] { return typing(selector, text, false) }

// over types it over what the element has.
func over(selector, text string) chromedp.Action[chromedp.Void] { return typing(selector, text, true) }

func typing(selector, text string, over bool) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		for ; ; time.Sleep(20 * time.Millisecond) {
			ready, err := chromedp.Evaluate[bool](fmt.Sprintf(takesKeys, selector, over))(ctx, t)
			if ctx.Err() != nil {
				return fmt.Errorf("%s takes no keys: %w", selector, ctx.Err())
			}
			if err == nil && ready {
				_, err := chromedp.KeyEvent(text)(ctx, t)
				return err
			}
		}
	})
}
