package edge

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strings"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/genproto/googleapis/rpc/code"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"tackfree/pkg/fault"
	"tackfree/pkg/grpcx"
)

// refusal is a fault that has a status of HTTP's own.
type refusal struct {
	status int
	*fault.Fault
}

// Unwrap gives the fault.
func (r refusal) Unwrap() error { return r.Fault }

var codeOf = map[fault.Kind]codes.Code{
	fault.Invalid: codes.InvalidArgument, fault.NotFound: codes.NotFound, fault.Exists: codes.AlreadyExists,
	fault.Precondition: codes.FailedPrecondition, fault.Conflict: codes.Aborted, fault.Exhausted: codes.ResourceExhausted,
	fault.Unavailable: codes.Unavailable, fault.Internal: codes.Internal,
	fault.Unauthenticated: codes.Unauthenticated, fault.Denied: codes.PermissionDenied,
}

// problem is what is answered when a call was not done.
type problem struct {
	Code    string  `json:"code"` // of gRPC
	Reason  string  `json:"reason"`
	Message string  `json:"message"` // a sentence
	Fields  []field `json:"fields"`

	status int // of HTTP
}

type field struct {
	Field   string `json:"field"`
	Message string `json:"message"`
}

// problemOf makes an answer of an error.
func (e *edge) problemOf(err error) problem {
	c, f := e.read(err)
	p := problem{Code: code.Code(c).String(), Reason: f.Reason, Message: f.Text, Fields: []field{}, status: runtime.HTTPStatusFromCode(c)}
	if own, is := errors.AsType[refusal](err); is {
		p.status = own.status
	}
	if _, is := errors.AsType[grpcx.Unsure](err); is {
		p.Message += " Whether it was done is not known: give it again with the same requestId, and it is done once."
	}
	for _, at := range f.Fields {
		p.Fields = append(p.Fields, field{inJSON(at.Path), at.Text})
	}
	return p
}

// read finds the fault of an error, and its code. What is no fault is a bug or a broken machine, of
// which nothing is told.
func (e *edge) read(err error) (codes.Code, *fault.Fault) {
	if fault.Of(err) == nil {
		err = grpcx.FaultOf(err)
	}
	f := fault.Of(err)
	switch {
	case f != nil:
		if c, known := codeOf[f.Kind]; known {
			return c, f
		}
		return codes.Internal, f
	case errors.Is(err, context.DeadlineExceeded):
		return codes.DeadlineExceeded, fault.New(fault.Unavailable, "TOOK_TOO_LONG", "It took longer than a call may take.")
	case errors.Is(err, context.Canceled):
		return codes.Canceled, fault.New(fault.Unavailable, "CALLER_GONE", "The caller went away.")
	}
	e.Logger.Error("call failed at the edge", "error", err)
	return codes.Internal, fault.New(fault.Internal, "INTERNAL", "Something broke inside the gateway. It is in its log.")
}

// inJSON writes the way to a field as JSON has it: parts[0].lengthUnit for parts[0].length_unit.
func inJSON(path string) string {
	words := strings.Split(path, "_")
	for i, w := range words[1:] {
		if w != "" {
			words[i+1] = strings.ToUpper(w[:1]) + w[1:]
		}
	}
	return strings.Join(words, "")
}

// refuse answers with an error.
func (e *edge) refuse(w http.ResponseWriter, err error) {
	p := e.problemOf(err)
	text, err := json.Marshal(map[string]problem{"error": p})
	if err != nil {
		e.Logger.Error("an answer cannot be written", "error", err)
	}
	w.Header().Set("Content-Type", "application/json")
	switch p.status {
	case http.StatusUnauthorized:
		w.Header().Set("WWW-Authenticate", "Bearer")
	case http.StatusTooManyRequests, http.StatusServiceUnavailable:
		w.Header().Set("Retry-After", "1")
	}
	w.WriteHeader(p.status)
	_, _ = w.Write(text) // whoever has gone does not read it
}

// onError answers what the mux found wrong: of a body that could not be read, why.
func (e *edge) onError(_ context.Context, _ *runtime.ServeMux, _ runtime.Marshaler, w http.ResponseWriter, r *http.Request, err error) {
	if b, is := r.Body.(*body); is && b.why != nil {
		err = b.why
	}
	e.refuse(w, err)
}

// onRoute answers what has no route.
func (e *edge) onRoute(_ context.Context, _ *runtime.ServeMux, _ runtime.Marshaler, w http.ResponseWriter, r *http.Request, found int) {
	if found == http.StatusMethodNotAllowed {
		e.refuse(w, wrongMethod(r))
		return
	}
	e.refuse(w, fault.New(fault.NotFound, "NO_SUCH_ROUTE", "Nothing is at %s; see /openapi.json for what there is.", r.URL.Path))
}

func wrongMethod(r *http.Request) error {
	return refusal{http.StatusMethodNotAllowed, fault.New(fault.Invalid, "METHOD_NOT_ALLOWED",
		"%s is not how %s is called; see /openapi.json.", r.Method, r.URL.Path)}
}

// onStreamError is what a stream ends with. The mux has a status only, so that the answer is put
// into its words, where codec finds it.
func (e *edge) onStreamError(_ context.Context, err error) *status.Status {
	p := e.problemOf(err)
	text, err := json.Marshal(p)
	if err != nil {
		e.Logger.Error("an answer cannot be written", "error", err)
	}
	return status.New(codes.Code(code.Code_value[p.Code]), string(text))
}
