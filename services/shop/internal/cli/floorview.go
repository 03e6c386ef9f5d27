package cli

import (
	"fmt"
	"strings"
	"time"

	"github.com/rivo/uniseg"
	"google.golang.org/protobuf/types/known/timestamppb"
)

// floorView is what a screen shows of the floor.
type floorView struct {
	zone   *time.Location
	read   bool // once; else there is nothing to show yet
	away   bool // the shop cannot be reached
	alerts int  // of stock, that are open; -1: not known
	hands  []hand
	drying []film
	ready  []waiting
	waits  []waiting
	latest []happening // the last one last
}

// hand is somebody on the clock, and at what since when.
type hand struct {
	who   string
	at    []string // several of a batch
	since time.Time
}

// film is what dries.
type film struct {
	tag        int32
	what, zone string
	laid       time.Time
	ready      *timestamppb.Timestamp // nil: nobody knows
}

// waiting is what could go on.
type waiting struct {
	tag       int32 // 0: of no piece
	what, who string
	promise   *timestamppb.Timestamp
}

// happening is what happened, in a sentence.
type happening struct {
	at   time.Time
	text string
}

// band is a part of the screen: its heading and what is under it.
type band struct {
	heading, colour string
	rows            []string
}

// lines are what a screen of that size shows, at most so many and each at most so wide.
func (v *floorView) lines(width, height int, now time.Time, p paint) []string {
	if !v.read {
		return []string{"The floor is being read …", "", v.foot(p)}
	}
	bands := v.bands(now, p)
	needs := make([]int, len(bands))
	for i, b := range bands {
		needs[i] = len(b.rows)
	}
	out := []string{v.head(width, now, p)}
	for i, room := range rooms(needs, height-2-len(bands)) {
		out = append(out, p.in(bands[i].colour, bands[i].heading))
		out = append(out, bands[i].atMost(room)...)
	}
	out = out[:min(len(out), max(height-1, 0))]
	for len(out) < height-1 {
		out = append(out, "")
	}
	out = append(out, v.foot(p))
	for i := range out {
		out[i] = clipped(out[i], width)
	}
	return out
}

// head is the first line: the time on the shop's wall, and how many alerts there are.
func (v *floorView) head(width int, now time.Time, p paint) string {
	left := "The floor, " + now.In(v.zone).Format("Mon 2 Jan 15:04:05")
	right := fmt.Sprintf("%d alerts of stock", v.alerts)
	switch v.alerts {
	case -1:
		right = "alerts: not known"
	case 0:
		right = "no alerts of stock"
	case 1:
		right = "1 alert of stock"
	}
	gap := strings.Repeat(" ", max(2, width-uniseg.StringWidth(left+right)))
	if v.alerts > 0 {
		right = p.in(lateColour, right)
	}
	return left + gap + right
}

func (v *floorView) foot(p paint) string {
	if v.away {
		return p.in(lateColour, "The shop is away; this goes on as soon as it is back.") + " q leaves."
	}
	return p.in(quietColour, "q leaves")
}
