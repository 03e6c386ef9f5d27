package day

import (
	"fmt"
	"time"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/words"
)

// effect is how much longer or shorter something dries than its maker says or the plan has it, and why.
type effect struct {
	Kind   string        // film, wood or minutes
	Stated time.Duration // 0: nobody stated it
	Off    time.Duration // above zero: it takes that much longer; 0: about as stated
	Causes []cause
	Unread bool // nobody read the air there, so it is taken for what times are stated for
}

// cause is one reason, as a key of the catalogue and how many times longer it takes by it, in hundredths;
// 0: the air, whose part is what the others leave.
type cause struct {
	Key   string
	Times int
}

// What counts as about the same: less than so much of the stated time, or than some minutes.
const (
	sameShare   = 0.05
	sameMinutes = 10 * time.Minute
)

// Air that slows or speeds a film enough to be named, beside the usual reference of 25 °C and 50 %.
const (
	coldBelow, warmAbove = 22.0, 28.0
	dryBelow, dampAbove  = 42.0, 58.0
)

// effectOf compares when it will be ready with its stated time.
func effectOf(c *workflowv1.DryClock, air *workflowv1.Reading) effect {
	e := effect{Kind: kindWords[c.Kind], Stated: c.StatedTime.AsDuration(), Unread: air == nil && c.Kind != workflowv1.DryClock_KIND_MINUTES}
	ready := c.GetReady().GetLikelyTime()
	if e.Stated <= 0 || ready == nil {
		return e
	}
	takes := ready.AsTime().Sub(c.LaidTime.AsTime())
	if off := takes - e.Stated; off.Abs() >= sameMinutes && off.Abs().Seconds() >= sameShare*e.Stated.Seconds() {
		e.Off = off.Round(time.Minute)
	}
	if c.Kind == workflowv1.DryClock_KIND_MINUTES || e.Off == 0 {
		return e
	}
	film, shop := usual(c.FilmSlows), usual(c.ShopSlows)
	e.Causes = append(e.Causes, slows("film", film)...)
	e.Causes = append(e.Causes, slows("shop", shop)...)
	if air != nil {
		e.Causes = append(e.Causes, airs(takes.Seconds()/(e.Stated.Seconds()*film*shop), air)...)
	}
	return e
}

func usual(times float64) float64 {
	if times <= 0 {
		return 1
	}
	return times
}

// slows names what makes it at least a tenth longer or shorter.
func slows(what string, times float64) []cause {
	switch {
	case times >= 1.1:
		return []cause{{"day.rack." + what + ".more", int(times*100 + 0.5)}}
	case times <= 0.9:
		return []cause{{"day.rack." + what + ".less", int(times*100 + 0.5)}}
	}
	return nil
}

// airs names what of the air goes with the rest: cold and damp when it takes longer, warm and dry when
// it takes less.
func airs(rest float64, air *workflowv1.Reading) (out []cause) {
	add := func(key string, is bool) {
		if is {
			out = append(out, cause{Key: "day.rack." + key})
		}
	}
	switch {
	case rest >= 1+sameShare:
		add("cold", air.Celsius < coldBelow)
		add("damp", air.HumidityPercent > dampAbove)
	case rest <= 1-sameShare:
		add("warm", air.Celsius > warmAbove)
		add("dryair", air.HumidityPercent < dryBelow)
	default:
		return nil
	}
	if len(out) == 0 {
		add("air", true) // the readings since the coat, not the last one
	}
	return out
}

// Says writes a cause in the reader's language.
func (c cause) Says(v *words.Voice) string {
	if c.Times == 0 {
		return v.T(c.Key)
	}
	return v.T(c.Key, fmt.Sprintf("%d%s%02d", c.Times/100, v.T("decimal.point"), c.Times%100))
}

// Says writes the whole in a sentence or two; empty: there is nothing to say.
func (e effect) Says(v *words.Voice) string {
	if e.Stated <= 0 || (e.Kind == "minutes" && e.Off == 0) { // of those the key under the rack says it once
		return ""
	}
	by := "day.rack.by." + e.Kind
	if e.Off == 0 {
		return v.T(by+".same", v.HoursOf(e.Stated)) + e.unread(v)
	}
	key, off := by+".later", e.Off
	if off < 0 {
		key, off = by+".earlier", -off
	}
	text := v.T(key, v.HoursOf(off), v.HoursOf(e.Stated))
	for i, c := range e.Causes {
		sep := ", "
		if i == 0 {
			sep = ": "
		}
		text += sep + c.Says(v)
	}
	return text + "." + e.unread(v)
}

func (e effect) unread(v *words.Voice) string {
	if !e.Unread {
		return ""
	}
	return " " + v.T("day.rack.unread")
}
