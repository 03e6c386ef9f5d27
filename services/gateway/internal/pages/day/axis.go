package day

import (
	"fmt"
	"strings"
	"time"

	"tackfree/services/gateway/internal/words"
)

// axis is the time that all strips of the rack share. Places on it are hundredths of a percent of its
// width, so that drawings are as wide as the page lets them be.
type axis struct{ from, to time.Time }

// wholeWidth is the right end of an axis.
const wholeWidth = 10_000

// The longest stretches before and after now that are drawn; what is beyond is cut off there.
const (
	mostBefore = 24 * time.Hour
	mostAfter  = 36 * time.Hour
	leastAfter = 4 * time.Hour
)

// axisOf is from the first to the last of some instants, and shows now with some time after it.
func axisOf(now time.Time, instants []time.Time) axis {
	x := axis{now.Add(-time.Hour), now.Add(leastAfter)}
	for _, t := range instants {
		if t.Before(x.from) {
			x.from = t
		}
		if t.After(x.to) {
			x.to = t
		}
	}
	if first := now.Add(-mostBefore); x.from.Before(first) {
		x.from = first
	}
	if last := now.Add(mostAfter); x.to.After(last) {
		x.to = last
	}
	return x
}

// at is where an instant is: 0 to 10,000; what is outside is at the nearer end.
func (x axis) at(t time.Time) int {
	return max(0, min(wholeWidth, int(int64(t.Sub(x.from)/time.Second)*wholeWidth/max(1, int64(x.to.Sub(x.from)/time.Second)))))
}

// percent writes a place or a width for a drawing.
func percent(n int) string { return fmt.Sprintf("%d.%02d%%", n/100, n%100) }

// tick is a time of day above the strips.
type tick struct {
	X    string
	Text string
	Day  bool // midnight
}

// steps are the distances that ticks may have; mostTicks is how many fit on a small phone.
var steps = []time.Duration{time.Hour, 2 * time.Hour, 3 * time.Hour, 6 * time.Hour, 12 * time.Hour, 24 * time.Hour, 48 * time.Hour}

const mostTicks = 5

// ticks are at full hours by the clock on the shop's wall; none is so near an end that its text is cut.
func (x axis) ticks(v *words.Voice) (out []tick) {
	step := steps[len(steps)-1]
	for _, s := range steps {
		if x.to.Sub(x.from) <= s*mostTicks {
			step = s
			break
		}
	}
	for t := midnight(x.from, v.Zone); t.Before(x.to); t = t.Add(step) {
		if at := x.at(t); at > wholeWidth/20 && at < wholeWidth*19/20 {
			out = append(out, tick{percent(at), tickText(v, t), t.In(v.Zone).Hour() == 0})
		}
	}
	return out
}

func tickText(v *words.Voice, t time.Time) string {
	if t.In(v.Zone).Hour() == 0 {
		return v.T("weekday." + strings.ToLower(t.In(v.Zone).Format("Mon")))
	}
	return v.ClockOf(t)
}
