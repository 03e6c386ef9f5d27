package cli

import (
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// live is a watch that goes on until the test ends it.
type live struct {
	says  chan *workflowv1.WatchFloorResponse
	ends  chan error
	mu    sync.Mutex
	froms []string // from where it was asked to go on
}

func newLive() *live {
	return &live{says: make(chan *workflowv1.WatchFloorResponse), ends: make(chan error)}
}

func (l *live) tell(r *workflowv1.WatchFloorRequest, stream grpc.ServerStreamingServer[workflowv1.WatchFloorResponse]) error {
	l.mu.Lock()
	l.froms = append(l.froms, r.Position)
	l.mu.Unlock()
	if err := stream.Send(&workflowv1.WatchFloorResponse{Position: "7"}); err != nil {
		return err
	}
	for {
		select {
		case <-stream.Context().Done():
			return nil
		case err := <-l.ends:
			return err
		case m := <-l.says:
			if err := stream.Send(m); err != nil {
				return err
			}
		}
	}
}

func withLive(t *testing.T) *fake {
	f := withAll(t)
	f.live = newLive()
	f.entries = []*workflowv1.ClockEntry{{Name: "clockEntries/1", Person: "people/n", PersonName: "Nell", Stage: "pieces/a/stages/2", PieceTag: 1, StartTime: stampNow(-65 * time.Minute)}}
	return f
}

func TestWatch_OnATerminal(t *testing.T) {
	t.Parallel()
	f := withLive(t)
	s := f.sit(t, 100, "watch")
	s.shows("AT WORK: one pair of hands")
	for _, want := range []string{"1:05  Nell", "1 sand (case)", "DRYING: one film", "paint (case)", "booth", "WAITING FOR SOMEBODY", "nobody has laid out its stages", "with Corbel Cane", "1 alert of stock", "q leaves"} {
		s.shows(want)
	}
	f.live.says <- &workflowv1.WatchFloorResponse{Position: "8", Text: "Ruth began wax\x1b[2J.", Event: &eventsv1.Envelope{PieceId: "a", OccurredAt: middayPlus(0), Actor: "Ruth"}}
	s.shows("piece 1: Ruth began wax")
	if strings.Contains(s.all(), "\x1b[2J") {
		t.Error("what somebody typed moves the screen")
	}
	if n := strings.Count(s.frame(), "\r\n"); n != 23 {
		t.Errorf("a screen of 24 lines gets %d", n+1)
	}
	if err := pty.Setsize(s.tty, &pty.Winsize{Rows: 12, Cols: 40}); err != nil {
		t.Fatal(err)
	}
	s.sees("12 lines of 40", func(frame string) bool {
		lines := strings.Split(frame, "\r\n")
		for _, l := range lines {
			if len([]rune(strings.TrimPrefix(strings.TrimSuffix(l, clearBelow), "[H"))) > 40 {
				return false
			}
		}
		return len(lines) == 12
	})
	s.types("q")
	s.left()
}

// While the shop is away the screen says so; when it is back, it goes on from where it was.
func TestWatch_OnATerminalGoesOn(t *testing.T) {
	t.Parallel()
	f := withLive(t)
	s := f.sit(t, 100, "watch")
	s.shows("AT WORK: one pair")
	f.live.says <- &workflowv1.WatchFloorResponse{Position: "9", Text: "Wax was finished.", Event: &eventsv1.Envelope{OccurredAt: middayPlus(0), Actor: "Nell"}}
	s.shows("Wax was finished.")
	f.live.ends <- fault.New(fault.Unavailable, "SERVICE_STOPPING", "The service is stopping.")
	s.shows("The shop is away")
	f.live.says <- &workflowv1.WatchFloorResponse{Position: "10", Text: "Wax was opened again.", Event: &eventsv1.Envelope{OccurredAt: middayPlus(0), Actor: "Nell"}}
	s.shows("Wax was opened again.")
	s.sees("that it is back", func(frame string) bool {
		return !strings.Contains(frame, "is away") && strings.Contains(frame, "Wax was finished.")
	})
	f.live.mu.Lock()
	if n := len(f.live.froms); n != 2 || f.live.froms[1] != "9" {
		t.Errorf("it asked from %q, want to go on from 9", f.live.froms)
	}
	f.live.mu.Unlock()
	s.types("\x03") // Ctrl-C
	s.left()
}

// What a watch cannot begin with is said on the terminal as it was.
func TestWatch_OnATerminalRefused(t *testing.T) {
	t.Parallel()
	f := withLive(t)
	f.live = nil
	f.fails = fault.New(fault.Invalid, "POSITION_UNKNOWN", "Read the board again.")
	s := f.sit(t, 100, "watch", "--from", "3")
	if err := <-s.done; err == nil {
		t.Error("it ends as if all were well")
	}
	s.sees("why", func(string) bool {
		_, after, left := strings.Cut(s.all(), firstPage)
		return left && strings.Contains(after, "POSITION_UNKNOWN")
	})
}

// With --lines a terminal gets lines, too.
func TestWatch_LinesOnATerminal(t *testing.T) {
	t.Parallel()
	f := withLive(t)
	s := f.sit(t, 100, "watch", "--lines")
	s.sees("a line", func(string) bool { return strings.HasPrefix(s.all(), "watching from  7\r\n") })
	_ = s.cmd.Process.Signal(os.Interrupt)
	if err := <-s.done; err != nil {
		t.Errorf("Ctrl-C ends it with %v", err)
	}
}
