package cli

import (
	"io"
	"slices"
	"strings"

	"github.com/alecthomas/kong"
)

// suggestion is a word that could be meant, and what it is; the latter may be empty.
type suggestion struct{ word, says string }

// suggester goes along what was typed before the word that is completed.
type suggester struct {
	at     *kong.Node
	given  []string          // what is no flag and no command
	said   map[string]string // flags with a value, by name
	flag   *kong.Flag        // its value comes next; nil: none
	worded bool              // behind a --, where all are words
}

// suggest lists what the last word could become.
func suggest(e *env, words []string) []suggestion {
	if len(words) == 0 {
		words = []string{""}
	}
	parser, err := newParser(&CLI{}, io.Discard, io.Discard, func(int) {})
	if err != nil {
		return nil
	}
	s := &suggester{at: parser.Model.Node, said: map[string]string{}}
	last := words[len(words)-1]
	for _, w := range words[:len(words)-1] {
		s.take(w)
	}
	var all []suggestion
	prefix := ""
	name, value, valued := strings.Cut(last, "=")
	switch {
	case s.flag != nil:
		all = s.values(e, s.flag.Value, s.flag)
	case !s.worded && strings.HasPrefix(last, "--") && valued:
		if f := s.find(name); f != nil {
			prefix, last = name+"=", value
			all = s.values(e, f.Value, f)
		}
	case !s.worded && strings.HasPrefix(last, "-"):
		all = s.flags()
	default:
		all = s.here(e)
	}
	return fitting(all, prefix, last)
}

// fitting are those that begin as the word does.
func fitting(all []suggestion, prefix, word string) (fit []suggestion) {
	for _, s := range all {
		if strings.HasPrefix(strings.ToLower(s.word), strings.ToLower(word)) {
			fit = append(fit, suggestion{prefix + s.word, s.says})
		}
	}
	return fit
}

// take goes past a word.
func (s *suggester) take(word string) {
	name, value, valued := strings.Cut(word, "=")
	switch {
	case s.flag != nil:
		s.said[s.flag.Name], s.flag = word, nil
	case s.worded:
		s.given = append(s.given, word)
	case word == "--":
		s.worded = true
	case strings.HasPrefix(word, "--"):
		switch f := s.find(name); {
		case f == nil || f.IsBool():
		case valued:
			s.said[f.Name] = value
		default:
			s.flag = f
		}
	default:
		if child := childOf(s.at, word); child != nil && len(s.given) == 0 {
			s.at = child
			return
		}
		s.given = append(s.given, word)
	}
}

func childOf(n *kong.Node, word string) *kong.Node {
	at := slices.IndexFunc(n.Children, func(c *kong.Node) bool { return c.Name == word || slices.Contains(c.Aliases, word) })
	if at < 0 {
		return nil
	}
	return n.Children[at]
}

// find is the flag of a name with its dashes; nil: there is none here.
func (s *suggester) find(name string) *kong.Flag {
	for _, group := range s.at.AllFlags(false) {
		for _, f := range group {
			if "--"+f.Name == name {
				return f
			}
		}
	}
	return nil
}

// flags are those that can be typed here and were not.
func (s *suggester) flags() (all []suggestion) {
	for _, group := range s.at.AllFlags(true) {
		for _, f := range group {
			if _, said := s.said[f.Name]; !said || f.IsSlice() {
				all = append(all, suggestion{"--" + f.Name, firstSentence(f.Help)})
			}
		}
	}
	return all
}

// here are commands, or what an argument could be.
func (s *suggester) here(e *env) (all []suggestion) {
	for _, c := range s.at.Children {
		if !c.Hidden && len(s.given) == 0 && !s.worded {
			all = append(all, suggestion{c.Name, firstSentence(c.Help)})
		}
	}
	if n := len(s.at.Positional); n > 0 {
		last := s.at.Positional[n-1]
		switch {
		case len(s.given) < n:
			all = append(all, s.values(e, s.at.Positional[len(s.given)], nil)...)
		case last.IsSlice():
			all = append(all, s.values(e, last, nil)...)
		}
	}
	return all
}
