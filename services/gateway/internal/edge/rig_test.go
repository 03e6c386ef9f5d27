package edge_test

import (
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"google.golang.org/grpc"
	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/services/gateway/internal/edge"
)

// call is what reached a service.
type call struct {
	service, method string
	request         proto.Message
	token           string
	metadata        metadata.MD
}

// suite stands for all services: it notes what reaches them, and answers as a test says.
type suite struct {
	mu     sync.Mutex
	calls  []call
	answer func(method string, request, reply proto.Message) error
	listen func(ctx context.Context, send func(proto.Message)) error // of streams
}

func (s *suite) note(ctx context.Context, service, method string, request proto.Message) {
	md, _ := metadata.FromOutgoingContext(ctx)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.calls = append(s.calls, call{service, method, proto.Clone(request), caller.Of(ctx).Token, md})
}

// last is the only call since the one before was taken.
func (s *suite) last(t *testing.T) call {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.calls) != 1 {
		t.Fatalf("%d calls reached a service, want 1", len(s.calls))
	}
	c := s.calls[0]
	s.calls = nil
	return c
}

// untouched checks that nothing reached a service.
func (s *suite) untouched(t *testing.T) {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.calls) > 0 {
		t.Errorf("%s reached its service", s.calls[0].method)
	}
	s.calls = nil
}

// conn is the connection to one of them.
type conn struct {
	*suite
	service string
}

func (c conn) Invoke(ctx context.Context, method string, args, reply any, _ ...grpc.CallOption) error {
	c.note(ctx, c.service, method, args.(proto.Message))
	if c.answer == nil {
		return nil
	}
	return c.answer(method, args.(proto.Message), reply.(proto.Message))
}

func (c conn) NewStream(ctx context.Context, _ *grpc.StreamDesc, method string, _ ...grpc.CallOption) (grpc.ClientStream, error) {
	s := &clientStream{conn: c, ctx: ctx, method: method, sent: make(chan proto.Message), ended: make(chan error, 1)}
	return s, nil
}

// clientStream is a stream either way.
type clientStream struct {
	conn
	ctx    context.Context
	method string
	sent   chan proto.Message
	ended  chan error
}

func (s *clientStream) SendMsg(m any) error {
	s.note(s.ctx, s.service, s.method, m.(proto.Message))
	return nil
}

func (s *clientStream) CloseSend() error {
	go func() {
		if s.listen == nil {
			s.ended <- io.EOF
			return
		}
		err := s.listen(s.ctx, func(m proto.Message) { s.sent <- m })
		if err == nil {
			err = io.EOF
		}
		s.ended <- err
	}()
	return nil
}

func (s *clientStream) RecvMsg(m any) error {
	select {
	case sent := <-s.sent:
		proto.Merge(m.(proto.Message), sent)
		return nil
	case err := <-s.ended:
		return err
	case <-s.ctx.Done():
		return s.ctx.Err()
	}
}

func (s *clientStream) Header() (metadata.MD, error) { return nil, nil }
func (s *clientStream) Trailer() metadata.MD         { return nil }
func (s *clientStream) Context() context.Context     { return s.ctx }

// setup makes an edge before a suite; Nell's secret is "nell", and her session the cookie "nell".
func setup(t *testing.T, change ...func(*edge.Config)) (http.Handler, *suite) {
	t.Helper()
	s := &suite{}
	c := edge.Config{Logger: slog.New(slog.DiscardHandler), Token: token,
		Conns: func(name string) (grpc.ClientConnInterface, error) { return conn{s, name}, nil }}
	for _, f := range change {
		f(&c)
	}
	h, err := edge.New(c)
	if err != nil {
		t.Fatal(err)
	}
	return h, s
}

func token(r *http.Request) (string, error) {
	if secret, bears := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); bears {
		return "access of " + secret, nil
	}
	if c, err := r.Cookie("session"); err == nil {
		return "access of " + c.Value, nil
	}
	return "", nil
}

// ask makes a request with Nell's secret.
func ask(verb, target, body string, headers ...string) *http.Request {
	r := httptest.NewRequest(verb, target, strings.NewReader(body))
	r.Header.Set("Authorization", "Bearer nell")
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i < len(headers); i += 2 {
		if headers[i+1] == "" {
			r.Header.Del(headers[i])
			continue
		}
		r.Header.Set(headers[i], headers[i+1])
	}
	return r
}

func serve(h http.Handler, r *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// problem is what is answered instead of an answer.
type problem struct {
	Code, Reason, Message string
	Fields                []struct{ Field, Message string }
}

func problemIn(t *testing.T, text string) problem {
	t.Helper()
	var p struct{ Error problem }
	d := json.NewDecoder(strings.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&p); err != nil || p.Error.Message == "" || p.Error.Fields == nil {
		t.Fatalf("%s is no problem: %v", text, err)
	}
	return p.Error
}

// refused checks how a request is refused before it reaches a service.
func refused(t *testing.T, h http.Handler, s *suite, r *http.Request, status int, reason string) problem {
	t.Helper()
	w := serve(h, r)
	p := problemIn(t, w.Body.String())
	if w.Code != status || p.Reason != reason || w.Header().Get("Content-Type") != "application/json" {
		t.Errorf("%s %s: %d %s (%s), want %d %s", r.Method, r.URL, w.Code, p.Reason, w.Body, status, reason)
	}
	s.untouched(t)
	return p
}
