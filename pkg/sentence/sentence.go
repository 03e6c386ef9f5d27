// Package sentence is sentences that a service puts into its answers: in English, and beside it which sentence it is
// and what stands in it, so that a page can say it in another language. Trade, pure.
//
//	New("NO_WORKING_DAYS", "Nobody who can do %s has …").With("stage", …) ─▶ Text, for whoever reads English
//	                                                                      └▶ Reason and Figures, for all others
//
// A refusal is a fault (package fault) and none of these.
package sentence

import (
	"fmt"
	"maps"
	"strings"
	"time"
)

// Sentence is one of them.
type Sentence struct {
	Reason  string            // UPPER_SNAKE, stable: which sentence it is
	Text    string            // in English
	Figures map[string]string // what stands in it, by name; none: nothing does
}

// New makes a sentence; format and args make its text.
func New(reason, format string, args ...any) Sentence {
	return Sentence{Reason: reason, Text: fmt.Sprintf(format, args...)}
}

// With returns a copy in which so much stands under a name. What has none, an empty value, is left away.
func (s Sentence) With(name, value string) Sentence {
	if value == "" {
		return s
	}
	s.Figures = maps.Clone(s.Figures)
	if s.Figures == nil {
		s.Figures = map[string]string{}
	}
	s.Figures[name] = value
	return s
}

// On is With of a day, as 2026-03-02.
func (s Sentence) On(name string, day time.Time) Sentence {
	return s.With(name, day.Format(time.DateOnly))
}

// At is With of an instant, as RFC 3339; the zero time is left away.
func (s Sentence) At(name string, at time.Time) Sentence {
	if at.IsZero() {
		return s
	}
	return s.With(name, at.UTC().Format(time.RFC3339))
}

// Text puts sentences one behind the other.
func Text(all []Sentence) string {
	texts := make([]string, len(all))
	for i, s := range all {
		texts[i] = s.Text
	}
	return strings.Join(texts, " ")
}
