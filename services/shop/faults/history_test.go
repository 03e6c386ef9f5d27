package faults_test

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"tackfree/pkg/fault"
	"tackfree/pkg/grpcx"
)

// outcome is what whoever gave a command knows of it.
type outcome int

// The outcomes.
const (
	unknown outcome = iota // nobody answered, and they gave up
	done
	refused
)

// deed is one command, however often it was given.
type deed struct {
	request string
	states  string // the kind of event that it is to bring about; empty: none
	events  int    // how many of them
	outcome outcome
	tries   int
	why     string // what was last said against it
}

// history is all commands that were given, and what answers there were but good ones.
type history struct {
	mu     sync.Mutex
	deeds  map[string]*deed // by request id
	errors map[string]int   // by kind and reason
	unsure int              // tries after which nobody knew
}

func newHistory() *history { return &history{deeds: map[string]*deed{}, errors: map[string]int{}} }

// begin notes a command before it is first given.
func (h *history) begin(request, states string, events int) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.deeds[request] = &deed{request: request, states: states, events: events}
}

// note notes what came of one try, and reports whether to try again.
func (h *history) note(request string, err error) (again bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	d := h.deeds[request]
	d.tries++
	if err == nil {
		d.outcome = done
		return false
	}
	d.why = err.Error()
	h.errors[kindOf(err)]++
	switch {
	case errors.As(err, new(grpcx.Unsure)), errors.Is(err, fault.Internal):
		h.unsure++
		return true
	case errors.Is(err, fault.Conflict), errors.Is(err, fault.Exhausted):
		return true // nothing was changed
	}
	d.outcome = refused
	return false
}

// kindOf is what a client can tell an error by.
func kindOf(err error) string {
	f := fault.Of(err)
	switch {
	case f != nil:
		return f.Kind.Error() + " " + f.Reason
	case errors.Is(err, context.DeadlineExceeded):
		return "deadline"
	case errors.Is(err, context.Canceled):
		return "cancelled"
	}
	return err.Error()
}

// seen counts the errors of a kind.
func (h *history) seen(kind fault.Kind) (n int) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for what, times := range h.errors {
		if strings.HasPrefix(what, kind.Error()+" ") {
			n += times
		}
	}
	return n
}

// allDone reports whether all commands were, and forgets what it took: services that have just
// started may not have found each other yet.
func (h *history) allDone() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.errors, h.unsure = map[string]int{}, 0
	for _, d := range h.deeds {
		if d.outcome != done {
			return false
		}
	}
	return true
}

// summary is for the log.
func (h *history) summary() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	count := map[outcome]int{}
	for _, d := range h.deeds {
		count[d.outcome]++
	}
	text := fmt.Sprintf("%d commands: %d done, %d refused, %d unknown; %d tries left nobody knowing", len(h.deeds), count[done], count[refused], count[unknown], h.unsure)
	for _, what := range slices.Sorted(maps.Keys(h.errors)) {
		text += fmt.Sprintf("\n  %6d %s", h.errors[what], what)
	}
	return text
}

// count says how often commands were done that bring some event about: at least and at most.
func (h *history) count(states string) (least, most int) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, d := range h.deeds {
		switch {
		case d.states != states || d.outcome == refused:
		case d.outcome == done:
			least++
			most++
		default:
			most++
		}
	}
	return least, most
}
