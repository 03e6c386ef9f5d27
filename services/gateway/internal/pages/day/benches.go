package day

import (
	"cmp"
	"slices"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/titles"
)

// bench is a place where somebody is at work now.
type bench struct {
	Name  string // empty: nobody said where
	Kind  string // bench, booth …
	Holds int    // pieces or parts that stand there
	Room  int32  // for so many
	At    []atWork
}

// atWork is somebody on the clock.
type atWork struct {
	Who     string
	Tag     int32 // 0: on no piece
	Title   string
	Stage   string // or what they do that belongs to no piece
	Since   *timestamppb.Timestamp
	Today   time.Duration // on the clock since midnight
	Rework  bool
	Batched bool
	Sold    bool // the piece was sold meanwhile
}

// absent is somebody who works here and is not on the clock.
type absent struct {
	Who    string
	Paused bool
	Since  *timestamppb.Timestamp // when they last were; nil: not today
}

var stationWords = map[workflowv1.Station_Kind]string{
	workflowv1.Station_KIND_BENCH: "bench", workflowv1.Station_KIND_BOOTH: "booth", workflowv1.Station_KIND_RACK: "rack", workflowv1.Station_KIND_OUTDOORS: "outdoors",
}

// benches are the places with somebody at work, in the order of the stations, with how many are at
// work, and who is not.
func (f *floorFacts) benches() (places []bench, people int, off []absent) {
	at, on := f.running()
	for _, s := range f.stations {
		if who := at[s.Name]; len(who) > 0 {
			places = append(places, bench{Name: s.DisplayName, Kind: stationWords[s.Kind], Holds: standing(s), Room: s.Capacity, At: who})
		}
	}
	if who := at[""]; len(who) > 0 {
		places = append(places, bench{At: who})
	}
	return places, len(on), f.off(on)
}

// running are those on the clock by station, each once however many stages of a batch they are on.
func (f *floorFacts) running() (at map[string][]atWork, on map[string]bool) {
	at, on = map[string][]atWork{}, map[string]bool{}
	known := map[string]bool{"": true}
	for _, s := range f.stations {
		known[s.Name] = true
	}
	today, next := f.today(), f.next()
	for _, e := range f.entries {
		if e.EndTime != nil || e.Superseded || on[e.Person] {
			continue
		}
		on[e.Person] = true
		where := e.Station
		if !known[where] {
			where = ""
		}
		at[where] = append(at[where], f.onClock(e, next, today))
	}
	for _, who := range at {
		slices.SortFunc(who, func(a, b atWork) int { return cmp.Compare(a.Who, b.Who) })
	}
	return at, on
}

func (f *floorFacts) onClock(e *workflowv1.ClockEntry, next map[string]*workflowv1.BoardLine_Next, today map[string]time.Duration) atWork {
	piece := titles.PieceOf(e.Stage)
	it := atWork{Who: e.PersonName, Tag: e.PieceTag, Title: f.called[piece].Title, Sold: f.sold[piece], Since: e.StartTime, Today: today[e.Person], Rework: e.Pass > 1, Batched: e.Batch != ""}
	if e.StretchStartTime != nil {
		it.Since = e.StretchStartTime
	}
	switch n := next[e.Stage]; {
	case e.Indirect != "":
		it.Stage = f.voice.Word("kind", e.Indirect)
	case n != nil:
		it.Stage = stageIn(f.voice, n.Kind, n.Title)
	default:
		it.Stage = f.voice.Word("kind", e.StageKind)
	}
	return it
}

// next are the stages on the board by their names.
func (f *floorFacts) next() map[string]*workflowv1.BoardLine_Next {
	out := map[string]*workflowv1.BoardLine_Next{}
	for _, l := range f.board {
		for _, n := range l.Next {
			out[n.Stage] = n
		}
	}
	return out
}

// today is how long each was on the clock since midnight.
func (f *floorFacts) today() map[string]time.Duration {
	out, begins := map[string]time.Duration{}, midnight(f.now, f.voice.Zone)
	for _, e := range f.entries {
		if e.Superseded {
			continue
		}
		from, to := e.StartTime.AsTime(), f.now
		if e.EndTime != nil {
			to = e.EndTime.AsTime()
		}
		if from.Before(begins) {
			from = begins
		}
		out[e.Person] += max(0, to.Sub(from))
	}
	return out
}

// off are those who are not on the clock: first who only paused, then who left last.
func (f *floorFacts) off(on map[string]bool) (out []absent) {
	last := map[string]*workflowv1.ClockEntry{}
	for _, e := range f.entries {
		if old := last[e.Person]; !e.Superseded && e.EndTime != nil && (old == nil || old.EndTime.AsTime().Before(e.EndTime.AsTime())) {
			last[e.Person] = e
		}
	}
	begins := midnight(f.now, f.voice.Zone)
	for _, p := range f.people {
		if on[p.Name] || !belongs(p, f.now.In(f.voice.Zone)) {
			continue
		}
		it := absent{Who: p.DisplayName}
		if e := last[p.Name]; e != nil && e.EndTime.AsTime().After(begins) {
			it.Paused, it.Since = e.Paused, e.EndTime
		}
		out = append(out, it)
	}
	slices.SortStableFunc(out, func(a, b absent) int {
		return cmp.Or(order(b.Paused, a.Paused), b.Since.AsTime().Compare(a.Since.AsTime()), cmp.Compare(a.Who, b.Who))
	})
	return out
}

func order(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}

// standing is how many pieces or parts stand at a station, as it counts them.
func standing(s *workflowv1.Station) int {
	if s.Unit == workflowv1.Station_UNIT_PIECES {
		pieces := map[string]bool{}
		for _, p := range s.Placements {
			pieces[p.Piece] = true
		}
		return len(pieces)
	}
	n := 0
	for _, p := range s.Placements {
		n += int(max(1, p.Count))
	}
	return n
}
