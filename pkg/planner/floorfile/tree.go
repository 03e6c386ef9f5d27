package floorfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"strconv"
	"unicode/utf8"

	"tackfree/pkg/fault"
)

// value is a value of a file and the line on which it begins.
type value struct {
	line   int
	fields fields   // of an object
	items  []*value // of a list
	scalar any      // string, json.Number, bool or nil
	kind   kind
}

// fields are those of an object, in the order of the file; many have an index.
type fields struct {
	all   []member
	index map[string]*value
}

type member struct {
	name string
	*value
}

// few is how many fields are looked through one after the other.
const few = 12

func (f *fields) get(name string) *value {
	if f.index != nil {
		return f.index[name]
	}
	for _, m := range f.all {
		if m.name == name {
			return m.value
		}
	}
	return nil
}

func (f *fields) add(name string, v *value) {
	if f.all = append(f.all, member{name, v}); len(f.all) == few {
		f.index = map[string]*value{}
		for _, m := range f.all {
			f.index[m.name] = m.value
		}
	} else if f.index != nil {
		f.index[name] = v
	}
}

type kind int

const (
	scalar kind = iota
	object
	list
)

// malformed is a fault of a file's, at a line of it.
func malformed(line int, format string, args ...any) error {
	return fault.New(fault.Invalid, "FLOOR_FILE_MALFORMED", "Line "+strconv.Itoa(line)+": "+format, args...).With("line", strconv.Itoa(line))
}

// parse reads the one value of a text.
func parse(text []byte) (*value, error) {
	var whole json.RawMessage
	if err := json.Unmarshal(text, &whole); err != nil {
		return nil, broken(text, err)
	}
	s := &scanner{text: text, line: 1}
	v := s.value(0)
	return v, s.err
}

// broken says what is no JSON.
func broken(text []byte, err error) error {
	var syntax *json.SyntaxError
	if !errors.As(err, &syntax) {
		return malformed(1, "this cannot be read: %s.", err)
	}
	before := text[:min(int(syntax.Offset), len(text))]
	return malformed(1+bytes.Count(before, []byte{'\n'}), "this is no JSON: %s.", syntax.Error())
}

// scanner takes apart a text that is JSON.
type scanner struct {
	text []byte
	at   int
	line int
	err  error // the first thing that is not allowed though it is JSON
}

// deepest is how many values may stand in one another; the format needs seven.
const deepest = 32

// next gives the next byte that is no space.
func (s *scanner) next() byte {
	for ; ; s.at++ {
		switch s.text[s.at] {
		case '\n':
			s.line++
		case ' ', '\t', '\r':
		default:
			return s.text[s.at]
		}
	}
}

func (s *scanner) refuse(format string, args ...any) {
	if s.err == nil {
		s.err = malformed(s.line, format, args...)
	}
}

func (s *scanner) value(depth int) *value {
	first := s.next()
	v := &value{line: s.line}
	if depth > deepest {
		s.refuse("more than %d brackets are open.", deepest)
	}
	switch {
	case s.err != nil:
	case first == '{':
		v.kind = object
		s.each('}', func() { s.member(v, depth) })
	case first == '[':
		v.kind = list
		s.each(']', func() { v.items = append(v.items, s.value(depth+1)) })
	case first == '"':
		v.scalar = s.string()
	default:
		v.scalar = s.word()
	}
	return v
}

// each reads what stands between brackets, with commas between.
func (s *scanner) each(closes byte, read func()) {
	for s.at++; s.next() != closes; {
		if read(); s.err != nil {
			return
		}
		if s.next() == ',' {
			s.at++
		}
	}
	s.at++
}

func (s *scanner) member(v *value, depth int) {
	s.next()
	name := s.string()
	if v.fields.get(name) != nil {
		s.refuse("%q stands twice in one object.", name)
	}
	s.next()
	s.at++ // the colon
	v.fields.add(name, s.value(depth+1))
}

func (s *scanner) string() string {
	begin := s.at
	for s.at++; s.text[s.at] != '"'; s.at++ {
		if s.text[s.at] == '\\' {
			s.at++
		}
	}
	s.at++
	inner := s.text[begin+1 : s.at-1]
	if bytes.IndexByte(inner, '\\') < 0 && utf8.Valid(inner) {
		return string(inner)
	}
	out := ""
	if err := json.Unmarshal(s.text[begin:s.at], &out); err != nil {
		s.refuse("this text cannot be read: %s.", err)
	}
	return out
}

// word reads a number, true, false or null.
func (s *scanner) word() any {
	begin := s.at
	for s.at < len(s.text) && bytes.IndexByte([]byte(" \t\r\n,]}"), s.text[s.at]) < 0 {
		s.at++
	}
	switch word := string(s.text[begin:s.at]); word {
	case "true", "false":
		return word == "true"
	case "null":
		return nil
	default:
		return json.Number(word)
	}
}
