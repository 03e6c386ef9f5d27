package day

import (
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/instants"
	"tackfree/services/gateway/internal/titles"
)

// strip is one part that dries: from the coat to when it is ready, on the axis of the rack.
type strip struct {
	Tag     int32
	Title   string
	Stage   string // after which it dries
	Product string
	For     string // what it is to be ready for: sand, recoat or cured
	Kind    string // film, wood or minutes

	Laid, Ready, Early, Late, Closes *timestamppb.Timestamp
	Never, Dry                       bool

	Drawn  drawn
	Effect effect
}

// drawn is a strip's drawing: places and widths in percent.
type drawn struct {
	Begun, BegunWidth   string // from the coat to now, or to when it was ready
	Ahead, AheadWidth   string // from now to when it likely will be
	Early, EarlyWidth   string // between which it is nine times in ten
	Window, WindowWidth string // in which another coat bonds without scuffing
	Stated              string // where its maker's time ends; empty: outside, or not stated
	Closes              string // where the window closes; empty: outside, or never
	Top, Height         int    // of the film's bar, px: a thick one is drawn thick
}

var kindWords = map[workflowv1.DryClock_Kind]string{workflowv1.DryClock_KIND_FILM: "film", workflowv1.DryClock_KIND_WOOD: "wood", workflowv1.DryClock_KIND_MINUTES: "minutes"}

var needWords = map[workflowv1.DryState]string{workflowv1.DryState_DRY_STATE_SAND: "sand", workflowv1.DryState_DRY_STATE_RECOAT: "recoat", workflowv1.DryState_DRY_STATE_CURED: "cured"}

func (f *rackFacts) strip(x axis, c *workflowv1.DryClock, air *workflowv1.Reading) strip {
	piece := f.called[titles.PieceOf(c.Stage)]
	it := strip{Tag: c.PieceTag, Title: piece.Title, Stage: stageIn(f.a.Voice, c.StageKind, c.StageTitle), Product: c.ProductName, For: needWords[c.Needs], Kind: kindWords[c.Kind],
		Laid: c.LaidTime, Ready: c.GetReady().GetLikelyTime(), Early: c.GetReady().GetEarlyTime(), Late: c.GetReady().GetLateTime(), Dry: c.IsReady}
	it.Never = it.Ready == nil
	if presses(c, f.now) {
		it.Closes = c.RecoatCloses.LikelyTime
	}
	it.Drawn = draw(x, c, f.now, it.Closes)
	it.Effect = effectOf(c, air)
	return it
}

// draw lays a strip out on the axis.
func draw(x axis, c *workflowv1.DryClock, now time.Time, closes *timestamppb.Timestamp) (d drawn) {
	ready := x.to // what never will be ready dries on
	if t := c.GetReady().GetLikelyTime(); t != nil {
		ready = t.AsTime()
	}
	d.Begun, d.BegunWidth = x.span(c.LaidTime.AsTime(), instants.Earlier(now, ready))
	d.Ahead, d.AheadWidth = x.span(instants.Later(now, c.LaidTime.AsTime()), ready)
	if early, late := c.GetReady().GetEarlyTime(), c.GetReady().GetLateTime(); early != nil && !c.IsReady {
		d.Early, d.EarlyWidth = x.span(early.AsTime(), orEnd(late, x.to))
	}
	if closes != nil {
		d.Window, d.WindowWidth = x.span(instants.Later(ready, x.from), closes.AsTime())
		d.Closes = x.inside(closes.AsTime())
	}
	if c.StatedTime != nil {
		d.Stated = x.inside(c.LaidTime.AsTime().Add(c.StatedTime.AsDuration()))
	}
	d.Height = thickness(c)
	d.Top = middle - d.Height/2
	return d
}

// Heights of bars, px: that of a film as its maker says, the least and the most, and the middle of a strip.
const (
	usualHeight, leastHeight, mostHeight = 10, 6, 20
	middle                               = 14
)

// thickness is how high a film's bar is: as many times the usual as its thickness slows it, within
// what a strip has room for.
func thickness(c *workflowv1.DryClock) int {
	if c.Kind != workflowv1.DryClock_KIND_FILM || c.FilmSlows <= 0 {
		return usualHeight
	}
	return max(leastHeight, min(mostHeight, int(usualHeight*c.FilmSlows+0.5)/2*2))
}

// span is where something begins and how wide it is.
func (x axis) span(from, to time.Time) (at, width string) {
	begins := x.at(from)
	return percent(begins), percent(max(0, x.at(to)-begins))
}

// inside is where an instant is; empty: outside the axis.
func (x axis) inside(t time.Time) string {
	if t.Before(x.from) || t.After(x.to) {
		return ""
	}
	return percent(x.at(t))
}

func orEnd(t *timestamppb.Timestamp, end time.Time) time.Time {
	if t == nil {
		return end
	}
	return t.AsTime()
}
