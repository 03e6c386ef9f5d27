package edge

import (
	"bytes"
	"context"
	"maps"
	"net/http"
	"sync"
	"time"
)

// How often somebody who listens is told that nothing has happened, so that nothing in between takes
// the connection for dead; the first time soon, so that they know they are heard. And how long they
// have to take what they are sent.
const (
	firstBeat = time.Second
	beat      = 15 * time.Second
	slowest   = 30 * time.Second
)

// stream is an answer of several messages, each sent at once: a line of JSON, or an event (Server-Sent
// Events of the HTML standard) whose data is that line.
type stream struct {
	http.ResponseWriter
	control *http.ResponseController
	events  bool
	header  http.Header // of the mux, which may write there while a beat begins the answer

	mu    sync.Mutex
	line  bytes.Buffer // of an event, what is not yet sent
	begun bool
	plain bool // what is written goes out as it is: lines, or a refusal
}

// newStream makes a stream of lines or of events.
func newStream(w http.ResponseWriter, events bool) *stream {
	return &stream{ResponseWriter: w, control: http.NewResponseController(w), events: events, plain: !events, header: http.Header{}}
}

// start beats until the stream is stopped.
func (s *stream) start(ctx context.Context) (stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	var beats sync.WaitGroup
	if s.events {
		beats.Go(func() { s.beats(ctx) })
	}
	return func() {
		cancel()
		beats.Wait()
		_ = s.FlushError() // whoever has gone does not read it
	}
}

func (s *stream) beats(ctx context.Context) {
	timer := time.NewTimer(firstBeat)
	defer timer.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-timer.C:
		}
		if s.comment() != nil {
			return // the request ends by itself
		}
		timer.Reset(beat)
	}
}

// comment sends what no listener sees.
func (s *stream) comment() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.begin(http.StatusOK, nil)
	if s.plain {
		return nil
	}
	return s.send([]byte(":\n\n"))
}

// begin sends the headers, once.
func (s *stream) begin(status int, header http.Header) {
	if s.begun {
		return
	}
	s.begun = true
	maps.Copy(s.ResponseWriter.Header(), header)
	if s.plain = s.plain || status != http.StatusOK; !s.plain {
		s.ResponseWriter.Header().Set("Content-Type", "text/event-stream")
	}
	s.ResponseWriter.WriteHeader(status)
}

// Header implements http.ResponseWriter.
func (s *stream) Header() http.Header { return s.header }

// WriteHeader implements http.ResponseWriter. After a beat it is too late for a status: the error is
// then the last event.
func (s *stream) WriteHeader(status int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.begin(status, s.header)
}

// Write implements http.ResponseWriter: of an event it goes out with the next flush.
func (s *stream) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.begin(http.StatusOK, s.header)
	if !s.plain {
		return s.line.Write(p)
	}
	s.hurry()
	return s.ResponseWriter.Write(p)
}

// FlushError is called by http.ResponseController.
func (s *stream) FlushError() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	line := bytes.TrimSpace(s.line.Bytes())
	if len(line) == 0 {
		return s.send(nil)
	}
	event := append(append([]byte("data: "), line...), "\n\n"...)
	s.line.Reset()
	return s.send(event)
}

func (s *stream) send(text []byte) error {
	s.hurry()
	if _, err := s.ResponseWriter.Write(text); err != nil {
		return err
	}
	return s.control.Flush()
}

// hurry gives the listener their time from now on, rather than what the server gives an answer.
func (s *stream) hurry() {
	_ = s.control.SetWriteDeadline(time.Now().Add(slowest)) // a writer of tests has none
}
