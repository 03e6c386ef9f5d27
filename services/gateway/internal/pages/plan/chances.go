package plan

import (
	"strconv"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/instants"
)

// chance is how likely a promise is to be kept, and by when the piece is done.
type chance struct {
	*workflowv1.PieceOutlook
	Word   string // sure, likely, even, doubtful, hardly, or over: its time has passed
	Played bool   // it has a place for all its stages, so that chances could be played
	// Places on a strip that is 1000 wide: from one case in ten to nine in ten, the middle, the promise.
	X, W, Middle, Promise int
}

// wordOf says a chance in a word, by the share of cases in which the promise is kept.
func wordOf(share float64) string {
	switch {
	case share >= 0.95:
		return "sure"
	case share >= 0.75:
		return "likely"
	case share >= 0.4:
		return "even"
	case share >= 0.1:
		return "doubtful"
	}
	return "hardly"
}

// chancesOf are the chances of what is promised, all on one strip from now to the last time among them.
func chancesOf(pieces []*workflowv1.PieceOutlook, now time.Time) (out []chance) {
	last := now.Add(24 * time.Hour)
	for _, p := range pieces {
		if p.PromiseTime == nil {
			continue
		}
		out = append(out, chanceOf(p, now))
		for _, t := range []*timestamppb.Timestamp{p.PromiseTime, p.LateTime} {
			if t != nil {
				last = instants.Later(last, t.AsTime())
			}
		}
	}
	for i := range out {
		out[i].lay(now, last)
	}
	return out
}

func chanceOf(p *workflowv1.PieceOutlook, now time.Time) chance {
	c := chance{PieceOutlook: p, Word: wordOf(p.Chance), Played: p.MiddleTime != nil}
	if p.PromiseTime != nil && p.PromiseTime.AsTime().Before(now) {
		c.Word = "over"
	}
	return c
}

// stripWidth is how wide a strip is in its own units.
const stripWidth = 1000

func (c *chance) lay(from, to time.Time) {
	x := func(t *timestamppb.Timestamp) int {
		gone := max(0, min(t.AsTime().Sub(from), to.Sub(from)))
		return int(int64(gone/time.Second) * (stripWidth - 4) / int64(to.Sub(from)/time.Second))
	}
	c.Promise = x(c.PromiseTime)
	if c.Played {
		c.X, c.Middle = x(c.EarlyTime), x(c.MiddleTime)
		c.W = max(4, x(c.LateTime)-c.X)
	}
}

func tagText(tag int32) string { return strconv.FormatInt(int64(tag), 10) }
