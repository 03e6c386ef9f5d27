package cli

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"
)

// bands are the parts of the screen, from what is done now to what was done before.
func (v *floorView) bands(now time.Time, p paint) []band {
	hands := band{heading: count(len(v.hands), "AT WORK: nobody", "AT WORK: one pair of hands", "AT WORK: %d pairs of hands"), colour: inWorkColour}
	for _, h := range v.hands {
		hands.rows = append(hands.rows, fmt.Sprintf("  %6s  %-14s  %s", running(now.Sub(h.since)), h.who, strings.Join(h.at, " + ")))
	}
	drying := band{heading: count(len(v.drying), "DRYING: nothing", "DRYING: one film", "DRYING: %d films"), colour: dryingColour}
	for _, f := range v.drying {
		drying.rows = append(drying.rows, fmt.Sprintf("  %s  %-16s  %5d  %s  %s", filmBar(f, now), v.until(f.ready, now), f.tag, f.what, f.zone))
	}
	ready := band{heading: count(len(v.ready), "READY: nothing", "READY: one stage", "READY: %d stages"), colour: readyColour}
	for _, w := range v.ready {
		ready.rows = append(ready.rows, fmt.Sprintf("  %5d  %-30s  %s%s", w.tag, w.what, w.whose(), v.promised(w, now, p)))
	}
	waits := band{heading: count(len(v.waits), "WAITING FOR SOMEBODY: nothing", "WAITING FOR SOMEBODY: one thing", "WAITING FOR SOMEBODY: %d things"), colour: awayColour}
	for _, w := range v.waits {
		tag := ""
		if w.tag != 0 {
			tag = fmt.Sprint(w.tag)
		}
		waits.rows = append(waits.rows, fmt.Sprintf("  %5s  %s%s", tag, w.what, v.promised(w, now, p)))
	}
	latest := band{heading: "JUST HAPPENED", colour: quietColour}
	for _, h := range slices.Backward(v.latest) {
		latest.rows = append(latest.rows, "  "+h.at.In(v.zone).Format("15:04:05")+"  "+h.text)
	}
	return []band{hands, drying, ready, waits, latest}
}

// whose says whose it is.
func (w waiting) whose() string {
	if w.who == "" {
		return "nobody has it"
	}
	return "for " + w.who
}

// promised says until when the piece is promised.
func (v *floorView) promised(w waiting, now time.Time, p paint) string {
	if w.promise == nil {
		return ""
	}
	return ", " + p.late(w.promise, now, "promised "+w.promise.AsTime().In(v.zone).Format("Mon 2 Jan 15:04"))
}

// until says when something dries, and in how long.
func (v *floorView) until(at *timestamppb.Timestamp, now time.Time) string {
	switch {
	case at == nil:
		return "nobody knows"
	case at.AsTime().Before(now):
		return "any moment"
	}
	form := "15:04"
	if at.AsTime().Sub(now) > 20*time.Hour {
		form = "Mon 15:04"
	}
	return at.AsTime().In(v.zone).Format(form) + " in " + running(at.AsTime().Sub(now))
}

// running writes a length of time in hours and minutes.
func running(d time.Duration) string {
	d = max(d, 0)
	return fmt.Sprintf("%d:%02d", int(d.Hours()), int(d.Minutes())%60)
}

// filmBar draws how far a film has dried, of the time that it likely takes.
func filmBar(f film, now time.Time) string {
	const cells = 8
	if f.ready == nil {
		return strings.Repeat("·", cells)
	}
	whole := f.ready.AsTime().Sub(f.laid)
	done := cells
	if whole > 0 {
		done = int(cells * min(max(now.Sub(f.laid), 0), whole) / whole)
	}
	return strings.Repeat("▓", done) + strings.Repeat("░", cells-done)
}
