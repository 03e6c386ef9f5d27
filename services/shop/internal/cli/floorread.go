package cli

import (
	"cmp"
	"context"
	"fmt"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// overnight is how long before the shop's midnight a clock may have begun that still runs and that is shown; one that
// is older was forgotten, and is among those that the lead has to settle. The owner's page of the day has the same.
const overnight = 12 * time.Hour

// readFloor reads what is to be shown, but for what just happened. What the owner's page of the day counts too, hands,
// films, stages that are ready, and what waits, is counted alike. Beside that the page looks which stages miss a test
// for lead, which stations are full and which material stands still; here alerts are counted in the first line.
func readFloor(ctx context.Context, shop *client.Shop, titles *client.Titles, now time.Time) (v floorView, err error) {
	terms, err := shop.Terms(ctx)
	if err != nil {
		return v, err
	}
	v.zone, v.read = terms.Zone, true
	for _, read := range []func(context.Context, *client.Shop, *floorView) error{readBoard, readDrying, readOutside, readReviews} {
		if err := read(ctx, shop, &v); err != nil {
			return v, err
		}
	}
	if v.hands, err = readHands(ctx, shop, titles, sinceEvening(now.In(v.zone))); err != nil {
		return v, err
	}
	v.alerts = countAlerts(ctx, shop)
	return v, nil
}

// sinceEvening is from when on clocks are shown that run.
func sinceEvening(now time.Time) time.Time {
	y, m, d := now.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, now.Location()).Add(-overnight)
}

// readHands reads who is at what, of clocks that began since an instant.
func readHands(ctx context.Context, shop *client.Shop, titles *client.Titles, since time.Time) (all []hand, err error) {
	filter := &workflowv1.ListClockEntriesRequest{FromTime: timestamppb.New(since), PageSize: 1000}
	entries, err := client.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.ClockEntry, string, error) {
		filter.PageToken = token
		r, err := shop.Clocks.ListClockEntries(ctx, filter)
		return r.GetClockEntries(), r.GetNextPageToken(), err
	})
	if err != nil {
		return nil, err
	}
	at := map[string]int{}
	for _, c := range entries {
		if c.EndTime != nil || c.Superseded {
			continue
		}
		what, err := handOn(ctx, titles, c)
		if err != nil {
			return nil, err
		}
		n, known := at[c.Person]
		if !known { // of a batch there is an entry for each stage
			n = len(all)
			at[c.Person] = n
			all = append(all, hand{who: oneLine(c.PersonName), since: cmp.Or(c.StretchStartTime, c.StartTime).AsTime()})
		}
		all[n].at = append(all[n].at, oneLine(what))
	}
	return all, nil
}

// handOn says what a clock runs for.
func handOn(ctx context.Context, titles *client.Titles, c *workflowv1.ClockEntry) (string, error) {
	if c.Stage == "" {
		return strings.ReplaceAll(c.Indirect, "_", " "), nil
	}
	title, err := titles.Of(ctx, c.Stage)
	return fmt.Sprintf("%d %s", c.PieceTag, title), err
}

// readBoard reads what is ready, and what of it waits for somebody.
func readBoard(ctx context.Context, shop *client.Shop, v *floorView) error {
	filter := &workflowv1.ListBoardRequest{PageSize: 1000}
	lines, err := client.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.BoardLine, string, error) {
		filter.PageToken = token
		r, err := shop.Floor.ListBoard(ctx, filter)
		return r.GetLines(), r.GetNextPageToken(), err
	})
	for _, l := range lines {
		v.take(l)
	}
	return err
}

// take takes in a line of the board.
func (v *floorView) take(l *workflowv1.BoardLine) {
	one := waiting{tag: l.PieceTag, promise: l.PromiseTime}
	if l.State == workflowv1.BoardLine_STATE_UNPLANNED {
		one.what = "nobody has laid out its stages"
		v.waits = append(v.waits, one)
	}
	for _, n := range l.Next {
		one.what, one.who = oneLine(n.Title), oneLine(strings.Join(n.Assigned, ", "))
		if n.State != workflowv1.Stage_STATE_READY || len(n.OnTheClock) > 0 {
			continue
		}
		v.ready = append(v.ready, one)
		if n.Kind == "inspect" {
			one.what += ": somebody has to look at it"
			v.waits = append(v.waits, one)
		}
	}
}
