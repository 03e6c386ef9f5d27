package edge_test

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// heard is a stream as a listener has it.
type heard struct {
	status int
	kind   string
	lines  *bufio.Reader
	leave  func() error
}

// listen opens a stream over a real connection of a server that gives requests little time.
func listen(t *testing.T, h http.Handler, accept string) heard {
	t.Helper()
	return open(t, h, http.MethodGet, "/v1/shopCost:watch", accept, "")
}

func open(t *testing.T, h http.Handler, verb, target, accept, body string) heard {
	t.Helper()
	server := httptest.NewUnstartedServer(h)
	server.Config.ReadTimeout, server.Config.WriteTimeout = 300*time.Millisecond, 300*time.Millisecond
	server.Start()
	t.Cleanup(server.Close)
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	t.Cleanup(cancel)
	r, err := http.NewRequestWithContext(ctx, verb, server.URL+target, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer nell")
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	if accept != "" {
		r.Header.Set("Accept", accept)
	}
	w, err := server.Client().Do(r)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = w.Body.Close() })
	return heard{w.StatusCode, w.Header.Get("Content-Type"), bufio.NewReader(w.Body), w.Body.Close}
}

func (l heard) line(t *testing.T) string {
	t.Helper()
	text, err := l.lines.ReadString('\n')
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return strings.TrimSuffix(text, "\n")
}

func state(pieces int32) proto.Message { return &costingv1.WatchShopResponse{InHand: pieces} }

// inHand reads one message of a stream.
func inHand(t *testing.T, text string) int32 {
	t.Helper()
	var m struct{ Result struct{ InHand int32 } }
	if err := json.Unmarshal([]byte(text), &m); err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return m.Result.InHand
}

// Each message is there as soon as it is sent, however long the stream lasts.
func TestStream_AtOnce(t *testing.T) {
	for name, c := range map[string]struct{ accept, kind, prefix string }{
		"Lines":  {"", "application/x-ndjson", ""},
		"Events": {"text/event-stream", "text/event-stream", "data: "},
	} {
		t.Run(name, func(t *testing.T) {
			h, s := setup(t)
			next := make(chan struct{})
			s.listen = func(_ context.Context, send func(proto.Message)) error {
				send(state(1))
				<-next
				time.Sleep(400 * time.Millisecond) // longer than the server gives a request
				send(state(2))
				return nil
			}
			l := listen(t, h, c.accept)
			if l.status != http.StatusOK || l.kind != c.kind {
				t.Fatalf("%d %s", l.status, l.kind)
			}
			first, is := strings.CutPrefix(l.line(t), c.prefix)
			if !is || inHand(t, first) != 1 {
				t.Errorf("the first message is %q", first)
			}
			if c.prefix != "" && l.line(t) != "" {
				t.Error("the first event does not end")
			}
			close(next)
			second, is := strings.CutPrefix(l.line(t), c.prefix)
			if !is || inHand(t, second) != 2 {
				t.Errorf("the second message is %q", second)
			}
		})
	}
}

// A plan is looked for as long as was asked, and its progress is told at once; the answer may be late and large.
func TestStream_OfASearch(t *testing.T) {
	for name, c := range map[string]struct{ accept, prefix string }{"Lines": {"", ""}, "Events": {"text/event-stream", "data: "}} {
		t.Run(name, func(t *testing.T) {
			h, s := setup(t)
			s.listen = func(_ context.Context, send func(proto.Message)) error {
				send(&workflowv1.ProposePlanResponse{Progress: 0.5, LeastLateHours: 2})
				time.Sleep(400 * time.Millisecond) // longer than the server gives a request
				plan := &workflowv1.FloorPlan{}
				for range 5_000 {
					plan.Stages = append(plan.Stages, &workflowv1.PlacedStage{Title: "topcoat (case)"})
				}
				send(&workflowv1.ProposePlanResponse{Progress: 1, Proposal: "proposals/1", Plan: plan})
				return nil
			}
			l := open(t, h, http.MethodPost, "/v1/floorPlan:propose", c.accept, `{"budget": "60s", "seed": 3}`)
			var found struct {
				Result struct {
					Progress, LeastLateHours float64
					Proposal                 string
					Plan                     struct{ Stages []struct{ Title string } }
				}
			}
			for _, want := range [][2]float64{{0.5, 2}, {1, 0}} {
				text, is := strings.CutPrefix(l.line(t), c.prefix)
				if err := json.Unmarshal([]byte(text), &found); err != nil || !is || [2]float64{found.Result.Progress, found.Result.LeastLateHours} != want {
					t.Fatalf("%.200q: %v", text, err)
				}
				if c.prefix != "" {
					l.line(t)
				}
			}
			if found.Result.Proposal != "proposals/1" || len(found.Result.Plan.Stages) != 5_000 {
				t.Errorf("the plan %s has %d stages", found.Result.Proposal, len(found.Result.Plan.Stages))
			}
			asked := s.last(t).request.(*workflowv1.ProposePlanRequest)
			if asked.Budget.AsDuration() != time.Minute || asked.Seed != 3 {
				t.Errorf("it asked for %v", asked)
			}
		})
	}
}

// Who listens hears that they are heard, though nothing happens.
func TestStream_Beats(t *testing.T) {
	h, s := setup(t)
	s.listen = func(ctx context.Context, send func(proto.Message)) error {
		time.Sleep(1500 * time.Millisecond)
		send(state(5))
		<-ctx.Done()
		return ctx.Err()
	}
	began := time.Now()
	l := listen(t, h, "text/event-stream")
	if got := l.line(t) + l.line(t); got != ":" || time.Since(began) > 1400*time.Millisecond || l.kind != "text/event-stream" {
		t.Errorf("heard %q after %v", got, time.Since(began))
	}
	if got := l.line(t); inHand(t, strings.TrimPrefix(got, "data: ")) != 5 {
		t.Errorf("heard %q", got)
	}
}

// When the listener leaves, the service is told.
func TestStream_Leaves(t *testing.T) {
	h, s := setup(t)
	left := make(chan error, 1)
	s.listen = func(ctx context.Context, send func(proto.Message)) error {
		send(state(1))
		<-ctx.Done()
		left <- ctx.Err()
		return ctx.Err()
	}
	l := listen(t, h, "text/event-stream")
	l.line(t)
	_ = l.leave()
	select {
	case err := <-left:
		if !errors.Is(err, context.Canceled) {
			t.Errorf("it ended with %v", err)
		}
	case <-time.After(5 * time.Second):
		t.Error("the service was not told")
	}
}

// What fails before it begins has a status; what fails in the middle is its last line or event.
func TestStream_Fails(t *testing.T) {
	lost := fault.New(fault.Denied, "ACCESS_EXPIRED", "Sign in.").At("some_field")
	for name, c := range map[string]struct {
		accept, prefix string
		sent           int
		status         int
	}{
		"FirstLine":   {"", "", 0, 403},
		"FirstEvent":  {"text/event-stream", "", 0, 403},
		"SecondLine":  {"", "", 1, 200},
		"SecondEvent": {"text/event-stream", "data: ", 1, 200},
	} {
		t.Run(name, func(t *testing.T) {
			h, s := setup(t)
			s.listen = func(_ context.Context, send func(proto.Message)) error {
				for range c.sent {
					send(state(1))
				}
				return lost
			}
			l := listen(t, h, c.accept)
			if l.status != c.status {
				t.Errorf("%d, want %d", l.status, c.status)
			}
			for range c.sent {
				l.line(t)
				if c.prefix != "" {
					l.line(t)
				}
			}
			text, is := strings.CutPrefix(l.line(t), c.prefix)
			p := problemIn(t, text)
			if !is || p.Reason != "ACCESS_EXPIRED" || p.Code != "PERMISSION_DENIED" || p.Fields[0].Field != "someField" {
				t.Errorf("%q", text)
			}
		})
	}
}

// Many messages go in as lines.
func TestStream_In(t *testing.T) {
	h, s := setup(t)
	serve(h, ask("POST", "/v1/products:import", "{\"csv\": \"YQ==\"}\n\n{\"csv\": \"Yg==\", \"dryRun\": true}\n", "Content-Type", "application/x-ndjson"))
	if len(s.calls) != 2 || s.calls[1].method != "/tackfree.materials.v1.CatalogueService/ImportProducts" || s.calls[1].token != "access of nell" {
		t.Errorf("%d messages arrived: %v", len(s.calls), s.calls)
	}
	s.calls = nil
	for text, reason := range map[string]string{`{"csv": "YQ=="} {"cvs": ""}`: "FIELD_UNKNOWN", `{"csv": "YQ=="} {`: "JSON_MALFORMED"} {
		w := serve(h, ask("POST", "/v1/products:import", text))
		if p := problemIn(t, w.Body.String()); w.Code != 400 || p.Reason != reason || len(s.calls) != 1 {
			t.Errorf("%s: %d %+v after %d messages", text, w.Code, p, len(s.calls))
		}
		s.calls = nil
	}
}
