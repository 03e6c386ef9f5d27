package server_test

import (
	"context"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// watching is somebody who watches the floor.
type watching struct {
	grpc.ServerStreamingClient[workflowv1.WatchFloorResponse]
	leave context.CancelFunc
}

// watching begins to watch, for at most half a minute.
func (f *floor) watching(t testing.TB, r *workflowv1.WatchFloorRequest) watching {
	t.Helper()
	ctx, leave := context.WithTimeout(svctest.Ctx(t), 30*time.Second)
	t.Cleanup(leave)
	stream, err := f.view().WatchFloor(ctx, r)
	if err != nil {
		t.Fatal(err)
	}
	return watching{stream, leave}
}

func (w watching) next(t testing.TB) *workflowv1.WatchFloorResponse {
	t.Helper()
	r, err := w.Recv()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Who watches one piece is told of that alone, and goes on behind what happened to others.
func TestServer_WatchFloor_OnePiece(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	first, of := f.drawers(t, 11)
	_, others := f.drawers(t, 12)
	stream := f.watching(t, &workflowv1.WatchFloorRequest{Piece: first})
	if told := stream.next(t); told.Event != nil || told.Position == "" {
		t.Errorf("first told = %v, want a position alone", told)
	}
	f.works(t, nell, others["dewax left"], 10, 20)
	f.on(t, nell, of["dewax left"], 30)
	told := stream.next(t)
	if told.Event.GetClockedOn() == nil || told.Event.PieceId != tail(first) {
		t.Fatalf("told = %v, want that Nell is at piece 11", told)
	}
	stream.leave()
	f.clockedOff(t, nell, 40)
	all := f.watching(t, &workflowv1.WatchFloorRequest{Position: told.Position})
	if all.next(t).Event != nil || all.next(t).Event.GetClockedOff() == nil {
		t.Error("from the position on not the next thing was told")
	}
}

func TestServer_WatchFloor_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	for reason, r := range map[string]*workflowv1.WatchFloorRequest{
		"POSITION_UNKNOWN": {Position: "eyJlIjoiYW5vdGhlciJ9"}, "INVALID_NAME": {Piece: "7"},
	} {
		if _, err := f.watching(t, r).Recv(); !fault.Is(err, reason) {
			t.Errorf("WatchFloor(%v) = %v, want %s", r, err, reason)
		}
	}
}

// Who watches is told when the service stops, so that they watch again and do not think that
// nothing happens.
func TestServer_WatchFloor_Stops(t *testing.T) {
	t.Parallel()
	f := setup(t)
	stream := f.watching(t, &workflowv1.WatchFloorRequest{})
	stream.next(t)
	stopped := make(chan struct{})
	go func() {
		f.Stop()
		close(stopped)
	}()
	if r, err := stream.Recv(); !fault.Is(err, "SERVICE_STOPPING") {
		t.Errorf("Recv while the service stops = %v, %v; want SERVICE_STOPPING", r, err)
	}
	<-stopped
}

// follower keeps what a watcher was told.
type follower struct {
	*floor
	events []string
	at     []string // where to go on after each of them; first, where they began
}

// follow watches from the last position until so many more events were told, and leaves; the
// last few of them are forgotten, and are to be told again.
func (w *follower) follow(t *testing.T, more int) {
	t.Helper()
	stream := w.watching(t, &workflowv1.WatchFloorRequest{Position: w.at[len(w.at)-1]})
	defer stream.leave()
	for i := range 1 + more {
		told, err := stream.Recv()
		if err != nil {
			t.Error(err)
			return
		}
		if i == 0 {
			continue // the position alone
		}
		w.events, w.at = append(w.events, told.Event.EventId), append(w.at, told.Position)
	}
	back := rand.IntN(min(more, 5) + 1)
	w.events, w.at = w.events[:len(w.events)-back], w.at[:len(w.at)-back]
}

// clocksRound clocks somebody on and off, so many times.
func (f *floor) clocksRound(t *testing.T, person, stage string, rounds int) {
	t.Helper()
	for r := range rounds {
		if _, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(person, stage, 10*r)); err != nil {
			t.Error(err)
		}
		if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(person, 10*r+10)); err != nil {
			t.Error(err)
		}
	}
}

// A floor full of people clocks on and off, and some watch, go away and come again at any
// moment, from where they were or a little before: each is told of each event once.
func TestServer_WatchFloor_TellsEachEventOnce(t *testing.T) {
	t.Parallel()
	f := setup(t)
	const people, rounds = 6, 12
	names := f.names(t, people)
	planned := make([]string, people)
	for i := range planned {
		_, of := f.drawers(t, int32(11+i))
		planned[i] = of["dewax left"]
	}
	before := len(f.Events(t))
	now := f.watching(t, &workflowv1.WatchFloorRequest{}).next(t).Position
	var all sync.WaitGroup
	followers := make([]*follower, 4)
	for i := range followers {
		w := &follower{floor: f, at: []string{now}}
		followers[i] = w
		all.Go(func() {
			for left := people * rounds * 2; left > 0 && !t.Failed(); left = people*rounds*2 - len(w.events) {
				w.follow(t, 1+rand.IntN(min(12, left)))
			}
		})
	}
	for i, name := range names {
		all.Go(func() { f.clocksRound(t, name, planned[i], rounds) })
	}
	all.Wait()
	var written []string
	for _, e := range f.Events(t)[before:] {
		written = append(written, e.EventId)
	}
	slices.Sort(written)
	for _, w := range followers {
		slices.Sort(w.events)
		if !slices.Equal(w.events, written) {
			t.Errorf("told of %d events, %d of them different, and there are %d", len(w.events), len(slices.Compact(slices.Clone(w.events))), len(written))
		}
	}
}

// sentences are what a watcher is told from a position on until so much was told.
func (f *floor) sentences(t *testing.T, position string, n int) (texts []string) {
	t.Helper()
	stream := f.watching(t, &workflowv1.WatchFloorRequest{Position: position})
	defer stream.leave()
	stream.next(t)
	for range n {
		texts = append(texts, stream.next(t).Text)
	}
	return texts
}

// Whoever watches is told in sentences, whether as it happens or afterwards: what stages and batches
// are called is in them, and so is what is about no piece.
func TestServer_WatchFloor_TellsInSentences(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	piece, of := f.drawers(t, 11)
	live := f.watching(t, &workflowv1.WatchFloorRequest{})
	from := live.next(t).Position
	b := f.formed(t, of["dewax left"], of["dewax right"])
	f.onBatch(t, nell, b.Name, 0)
	f.clockedOff(t, nell, 60)
	f.left(t, of["dewax right"])
	f.finishAt(t, of["dewax left"], 70)
	want := []string{
		"The batch fronts was formed of 2 stages.",
		"Nell began dewax (left) in the batch fronts.",
		"Nell began dewax (right) in the batch fronts.",
		"Nell stopped at dewax (left) in the batch fronts after 0:30.",
		"Nell stopped at dewax (right) in the batch fronts after 0:30.",
		"Dewax (right) was taken out of the batch fronts.",
		"Dewax (left) was finished.",
		"The batch fronts was finished.",
	}
	var got []string
	for range want {
		got = append(got, live.next(t).Text)
	}
	slices.Sort(want[6:])
	slices.Sort(got[6:]) // the batch ends with its last stage
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("as it happened (-want +got):\n%s", diff)
	}
	got = f.sentences(t, from, len(want))
	slices.Sort(got[6:])
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("from before on (-want +got):\n%s", diff)
	}
	if all := f.timeline(t, &workflowv1.ListPieceTimelineRequest{Piece: piece}); all[1].Text != want[1] || all[1].Stage != of["dewax left"] {
		t.Errorf("the piece's timeline has %v, want as the watcher was told", all[1])
	}
}
