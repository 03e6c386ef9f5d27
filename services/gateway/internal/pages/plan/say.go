package plan

import (
	"encoding/json"
	"strings"
	"time"

	"tackfree/services/gateway/internal/words"
)

// AxisText is the axis for the script: of each segment its place, its width, its ends in milliseconds, and
// whether it is folded.
func (f *floor) AxisText() (string, error) {
	var all [][5]any
	for _, s := range f.Chart.Axis.Segments {
		all = append(all, [5]any{s.X, s.W, s.From.UnixMilli(), s.To.UnixMilli(), s.Folded})
	}
	b, err := json.Marshal(all)
	return string(b), err
}

// Deep is how far down a fold goes.
func (f *floor) Deep() int { return f.Chart.Height - f.Chart.Top }

// Weekday is the day of the week as the catalogue has it.
func (d day) Weekday() string { return strings.ToLower(d.At.Format("Mon")) }

// Says is all that the plan has about a stage, in words.
func (b *bar) Says(v *words.Voice, now time.Time) string {
	parts := []string{b.Label, v.T("plan.from.to", v.When(b.StartTime, now), v.Clock(b.EndTime)), b.Where(v, "", now)}
	if b.InWork {
		parts = append(parts, v.T("plan.key.in-work"))
	}
	if pins := b.Pins(v); pins != "" {
		parts = append(parts, pins)
	}
	if b.WindowMissed {
		parts = append(parts, v.T("plan.missed"))
	}
	for _, said := range []string{b.Known(v, now), b.Held(v)} {
		if said != "" {
			parts = append(parts, said)
		}
	}
	return strings.Join(parts, "; ")
}

// Where is who does it, where, and until when it dries, apart from what its lane says already.
func (b *bar) Where(v *words.Voice, lane string, now time.Time) string {
	var parts []string
	if b.PersonName == "" {
		parts = append(parts, v.T("plan.none.person"))
	} else if lane != "person" {
		parts = append(parts, b.PersonName)
	}
	if b.StationName != "" && lane != "station" {
		parts = append(parts, b.StationName)
	}
	if !b.Assigned && !b.InWork && b.PersonName != "" && b.HeldPersonName == "" { // of what another has, Held says more
		parts = append(parts, v.T("plan.not.given"))
	}
	if b.DryTime != nil {
		parts = append(parts, v.T("plan.dries", v.When(b.DryTime, now)))
	}
	return strings.Join(parts, " · ")
}

// Lasts reports whether it takes any time of the shop; what others do elsewhere takes none.
func (b *bar) Lasts() bool { return b.EndTime.AsTime().After(b.StartTime.AsTime()) }

// Pins says what is pinned; empty: nothing.
func (b *bar) Pins(v *words.Voice) string {
	switch {
	case b.PersonPinned && b.TimePinned:
		return v.T("plan.pin.both")
	case b.PersonPinned:
		return v.T("plan.pin.person")
	case b.TimePinned:
		return v.T("plan.pin.time")
	}
	return ""
}

// Known says what people know of a stage by the published plan, where it is elsewhere now; empty: it is as they know it.
func (b *bar) Known(v *words.Voice, now time.Time) string {
	elsewhere := b.PublishedPersonName != "" && b.PublishedPerson != b.Person
	switch {
	case elsewhere && b.PublishedStartTime != nil:
		return v.T("plan.known.both", b.PublishedPersonName, v.When(b.PublishedStartTime, now))
	case elsewhere:
		return v.T("plan.known.person", b.PublishedPersonName)
	case b.PublishedStartTime != nil:
		return v.T("plan.known.time", v.When(b.PublishedStartTime, now))
	}
	return ""
}

// Held says who has a stage now that is planned for another, who is refused until a plan is published; empty: nobody.
func (b *bar) Held(v *words.Voice) string {
	if b.HeldPersonName == "" {
		return ""
	}
	return v.T("plan.held", b.HeldPersonName)
}

// Pinned reports whether a pin of the stage can be taken away.
func (p *pinning) Pinned() bool { return p.Bar == nil || p.Bar.PersonPinned || p.Bar.TimePinned }
