// Package fault is the one error type that a person may see: what went wrong, in
// a sentence they can act on, with a stable reason for programs. Plumbing.
//
// Handlers and domain code return faults as plain errors; one interceptor
// (pkg/grpcx) turns them into gRPC status. Any other error is a bug or a broken
// machine, and its text never leaves the server.
package fault

import (
	"errors"
	"fmt"
	"maps"
)

// Kind says what sort of thing went wrong. A Kind is itself an error, so that
// errors.Is(err, fault.NotFound) asks for it.
type Kind int

// The kinds. Their order is never changed.
const (
	Invalid         Kind = iota + 1 // the request is wrong in itself
	NotFound                        // what it names is not there
	Exists                          // what it would make is there already
	Precondition                    // the shop is not in a state that allows it
	Conflict                        // somebody else was faster; read again and repeat
	Exhausted                       // too much at once; try again later
	Unavailable                     // a part of the suite cannot be reached; try again
	Internal                        // a fault of ours
	Unauthenticated                 // nobody knows who asks: they must sign in
	Denied                          // who asks may not
)

var kindNames = [...]string{
	Invalid: "invalid", NotFound: "not found", Exists: "exists already", Precondition: "precondition",
	Conflict: "conflict", Exhausted: "exhausted", Unavailable: "unavailable", Internal: "internal",
	Unauthenticated: "unauthenticated", Denied: "denied",
}

// Error makes a Kind usable with errors.Is.
func (k Kind) Error() string {
	if k < Invalid || k > Denied {
		return "unknown fault"
	}
	return kindNames[k]
}

// Fault is an error for a person and for a program at once.
type Fault struct {
	Kind   Kind
	Reason string            // UPPER_SNAKE, stable, at most 63 characters
	Text   string            // a sentence a person can act on; safe to show
	Fields []Field           // the request fields at fault, if any
	Meta   map[string]string // the variables of Text, for programs
	cause  error
}

// Field is one field of a request and what is wrong with it.
type Field struct{ Path, Text string }

// New makes a fault; format and args make its text.
func New(kind Kind, reason, format string, args ...any) *Fault {
	return &Fault{Kind: kind, Reason: reason, Text: fmt.Sprintf(format, args...)}
}

// At returns a copy that names the request field at fault.
func (f *Fault) At(path string) *Fault {
	c := *f
	c.Fields = []Field{{Path: path, Text: f.Text}}
	return &c
}

// With returns a copy that carries one more variable of its text.
func (f *Fault) With(key, value string) *Fault {
	c := *f
	c.Meta = maps.Clone(f.Meta)
	if c.Meta == nil {
		c.Meta = map[string]string{}
	}
	c.Meta[key] = value
	return &c
}

// Because returns a copy that remembers what caused it, for the log only.
func (f *Fault) Because(cause error) *Fault {
	c := *f
	c.cause = cause
	return &c
}

// Error gives the text and, for the log, the cause.
func (f *Fault) Error() string {
	if f.cause == nil {
		return f.Text
	}
	return f.Text + ": " + f.cause.Error()
}

// Unwrap lets errors.Is find the kind and the cause.
func (f *Fault) Unwrap() []error {
	if f.cause == nil {
		return []error{f.Kind}
	}
	return []error{f.Kind, f.cause}
}

// Of returns the fault in err's chain, or nil.
func Of(err error) *Fault {
	var f *Fault
	if errors.As(err, &f) {
		return f
	}
	return nil
}

// Reason returns the reason of the fault in err's chain, or "".
func Reason(err error) string {
	if f := Of(err); f != nil {
		return f.Reason
	}
	return ""
}

// Is reports whether err is a fault with that reason.
func Is(err error, reason string) bool {
	return reason != "" && Reason(err) == reason
}
