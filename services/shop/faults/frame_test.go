package faults_test

import (
	"bytes"
	"encoding/binary"
	"io"
)

// frame is one message of the Postgres protocol: what kind it is, and all its bytes. A kind of 0 is
// the first message of a client, which has none.
type frame struct {
	kind byte
	all  []byte
}

// readFrame reads a message; the first of a client has no kind.
func readFrame(r io.Reader, first bool) (f frame, err error) {
	head := make([]byte, 5)
	if first {
		head = head[1:]
	}
	if _, err := io.ReadFull(r, head); err != nil {
		return f, err
	}
	if !first {
		f.kind = head[0]
	}
	rest := make([]byte, binary.BigEndian.Uint32(head[len(head)-4:])-4)
	_, err = io.ReadFull(r, rest)
	f.all = append(head, rest...)
	return f, err
}

// word cuts the next text off a message.
func word(b []byte) (text string, rest []byte) {
	before, after, _ := bytes.Cut(b, []byte{0})
	return string(before), after
}

// statements is what a client has had prepared: its SQL by its name.
type statements map[string]string

// bound tells the SQL that a message of a client has done, or "".
func (s statements) bound(f frame) string {
	switch f.kind {
	case 'P': // parse: a name and its SQL
		name, rest := word(f.all[5:])
		s[name], _ = word(rest)
	case 'B': // bind: a portal and the name of what is done
		_, rest := word(f.all[5:])
		name, _ := word(rest)
		return s[name]
	case 'Q': // simple query
		sql, _ := word(f.all[5:])
		return sql
	}
	return ""
}
