package day

import (
	"slices"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/alerts"
)

// waiting is what waits for one sort of thing.
type waiting struct {
	Key  string // day.waits.KEY is what it waits for
	Late bool   // some of it is overdue
	Each []wait
	More int
}

// All is how many wait.
func (w waiting) All() int { return len(w.Each) + w.More }

// wait is one thing that waits.
type wait struct {
	Tag    int32 // 0: it is of no piece
	Title  string
	Text   string // what waits
	Says   string // more of it, in a sentence that a service said
	Link   string // where it is settled; empty: at the piece
	Action string // what the link says, a key
	Since  *timestamppb.Timestamp
	Due    string // the day on which it is due
	Late   bool
}

// mostWaiting bounds each group.
const mostWaiting = 8

// groups are all that wait, what needs a decision first, and none that is empty.
func (f *waitFacts) groups() (out []waiting) {
	for _, g := range []waiting{f.inspections(), f.leadTests(), f.toReview(), f.ordered(), f.outsiders(), f.materials(), f.fullStations(), f.unplanned()} {
		var more int
		if g.Each, more = atMost(g.Each, mostWaiting); len(g.Each) > 0 {
			g.More += more
			g.Late = slices.ContainsFunc(g.Each, func(w wait) bool { return w.Late })
			out = append(out, g)
		}
	}
	return out
}

func (f *waitFacts) of(l *workflowv1.BoardLine, text string) wait {
	return wait{Tag: l.PieceTag, Title: f.called[l.Piece].Title, Text: text}
}

// inspections are stages at which somebody has to look: matching colours, how a coat holds.
func (f *waitFacts) inspections() waiting {
	out := waiting{Key: "inspect"}
	for _, l := range f.board {
		for _, n := range l.Next {
			if n.Kind == "inspect" && n.State == workflowv1.Stage_STATE_READY && len(n.OnTheClock) == 0 {
				out.Each = append(out.Each, f.of(l, stageIn(f.voice, n.Kind, n.Title)))
			}
		}
	}
	return out
}

// day writes a day of the calendar.
func (f *waitFacts) day(d *date.Date) string {
	if d == nil {
		return ""
	}
	return f.voice.DayOf(time.Date(int(d.Year), time.Month(d.Month), int(d.Day), 12, 0, 0, 0, f.voice.Zone))
}

func (f *waitFacts) leadTests() waiting {
	out := waiting{Key: "lead", More: f.unlooked}
	for _, u := range f.untested {
		it := f.of(u.line, stageIn(f.voice, u.next.Kind, u.next.Title))
		it.Says = f.voice.Caution(leadID, u.caution)
		out.Each = append(out.Each, it)
	}
	if len(out.Each) == 0 {
		out.More = 0
	}
	return out
}

func (f *waitFacts) toReview() waiting {
	out := waiting{Key: "review"}
	for _, r := range f.reviews {
		out.Each = append(out.Each, wait{Text: r.PersonName, Says: r.Reason, Since: r.RaiseTime, Link: "/day/review/" + lastOf(r.Name), Action: "day.review.open"})
	}
	return out
}

// outsiders are what others have, overdue first.
func (f *waitFacts) outsiders() waiting {
	out := waiting{Key: "outside"}
	for _, o := range f.outside {
		text := f.voice.Word("kind", o.Kind) + ": " + o.Firm
		if o.PartLabel != "" {
			text = o.PartLabel + ", " + text
		}
		out.Each = append(out.Each, wait{Tag: o.PieceTag, Title: f.called[o.Piece].Title, Text: text, Since: o.SentTime, Due: f.day(o.DueDate), Late: o.Overdue})
	}
	slices.SortStableFunc(out.Each, func(a, b wait) int { return order(b.Late, a.Late) }) // they come soonest due first
	return out
}

// materials are stages that would stand still for want of something.
func (f *waitFacts) materials() waiting {
	out := waiting{Key: "material"}
	for _, a := range f.alerts {
		if a.Kind == standsStill {
			says, _ := alerts.Say(f.voice, a, f.now)
			out.Each = append(out.Each, wait{Text: a.ProductName, Says: says, Link: "/stock", Action: "menu/stock"})
		}
	}
	return out
}

func (f *waitFacts) fullStations() waiting {
	out := waiting{Key: "full"}
	for _, s := range f.stations {
		if holds := standing(s); !s.Retired && holds >= int(s.Capacity) {
			out.Each = append(out.Each, wait{Text: f.voice.T("day.waits.holds", s.DisplayName, holds, s.Capacity)})
		}
	}
	return out
}

func (f *waitFacts) unplanned() waiting {
	out := waiting{Key: "unplanned"}
	for _, l := range f.board {
		if l.State == workflowv1.BoardLine_STATE_UNPLANNED {
			out.Each = append(out.Each, f.of(l, ""))
		}
	}
	return out
}
