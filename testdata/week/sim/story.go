package sim

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"time"
)

// step is something that happens, as the story tells it.
type step struct {
	at   time.Time
	what string
	body any
	By   string
}

// say tells what happens at an instant.
func (s *shop) say(at time.Time, what string, body any) *step {
	told := &step{at: at, what: what, body: body}
	s.steps = append(s.steps, told)
	return told
}

// MarshalJSON implements json.Marshaler.
func (st *step) MarshalJSON() ([]byte, error) {
	body, err := plain(st.body)
	if err != nil {
		return nil, err
	}
	by := ""
	if st.By != "" {
		by = fmt.Sprintf(`, "by": %q`, st.By)
	}
	return fmt.Appendf(nil, `{"at": %q, %q: %s%s}`, clock(st.at), st.what, body, by), nil
}

// plain writes JSON as it stands, without what a web page would need.
func plain(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return bytes.TrimSpace(b.Bytes()), err
}

// write writes the story: what there is in a line each, and each step in a line.
func (s *shop) write() []byte {
	slices.SortStableFunc(s.steps, func(a, b *step) int { return a.at.Compare(b.at) })
	var b bytes.Buffer
	fmt.Fprintf(&b, "{\n  \"shop\": %q,\n  \"currency\": \"USD\",\n  \"zone\": %q,\n", "Quarry Hill Refinishing (an invented shop)", zone)
	list(&b, "zones", zones)
	list(&b, "stations", s.stations)
	list(&b, "people", s.people)
	list(&b, "routes", []string{"painted", "mended", "stained", "oiled", "seat"})
	list(&b, "products", products)
	list(&b, "steps", s.steps)
	b.Truncate(b.Len() - len(",\n"))
	b.WriteString("\n}\n")
	return b.Bytes()
}

func list[T any](b *bytes.Buffer, name string, all []T) {
	fmt.Fprintf(b, "  %q: [\n", name)
	for i, one := range all {
		line, err := plain(one)
		if err != nil {
			panic(err)
		}
		comma := ","
		if i == len(all)-1 {
			comma = ""
		}
		fmt.Fprintf(b, "    %s%s\n", line, comma)
	}
	b.WriteString("  ],\n")
}

// What follows are steps as package scenario reads them.

type ref struct {
	Piece string `json:"piece,omitempty"`
	Stage string `json:"stage,omitempty"`
}

type work struct {
	ref
	Batch    string `json:"batch,omitempty"`
	Indirect string `json:"indirect,omitempty"`
	Who      string `json:"who"`
	Station  string `json:"station,omitempty"`
	Until    string `json:"until,omitempty"`
	Finish   bool   `json:"finish,omitempty"`
}

type assign struct {
	ref
	Who    string `json:"who"`
	Beside bool   `json:"beside,omitempty"`
}

type handOver struct {
	ref
	From    string `json:"from"`
	To      string `json:"to"`
	Note    string `json:"note,omitempty"`
	ClockOn bool   `json:"clock_on,omitempty"`
	Until   string `json:"until,omitempty"`
	Finish  bool   `json:"finish,omitempty"`
}

type pause struct {
	Who   string `json:"who"`
	Until string `json:"until"`
}

type move struct {
	Piece   string `json:"piece"`
	Part    string `json:"part,omitempty"`
	Station string `json:"station,omitempty"`
}

type batch struct {
	Name   string `json:"name"`
	Stages []ref  `json:"stages"`
}

type inspect struct {
	ref
	Who     string   `json:"who"`
	BackTo  string   `json:"back_to"`
	Defects []defect `json:"defects"`
}

type defect struct {
	Kind  string `json:"kind"`
	Part  string `json:"part,omitempty"`
	Photo string `json:"photo,omitempty"`
	Note  string `json:"note,omitempty"`
}

type sent struct {
	ref
	Indirect string `json:"indirect,omitempty"`
	Who      string `json:"who"`
	Start    string `json:"start"`
	End      string `json:"end"`
	Device   string `json:"device"`
	Ahead    string `json:"ahead"`
}

type settle struct {
	Who       string `json:"who"`
	Ended     string `json:"ended,omitempty"`
	Accept    bool   `json:"accept,omitempty"`
	CutOthers bool   `json:"cut_others,omitempty"`
	Reason    string `json:"reason"`
}

type correct struct {
	Who    string `json:"who"`
	From   string `json:"from"`
	End    string `json:"end"`
	Reason string `json:"reason"`
}

type sendOut struct {
	Piece  string `json:"piece"`
	Part   string `json:"part"`
	Stage  string `json:"stage"`
	Kind   string `json:"kind"`
	Firm   string `json:"firm"`
	Quoted string `json:"quoted"`
	Due    string `json:"due"`
}

type chase struct {
	Piece string `json:"piece"`
	Part  string `json:"part"`
	Note  string `json:"note"`
	Due   string `json:"due"`
}

type back struct {
	Piece  string `json:"piece"`
	Part   string `json:"part"`
	Billed string `json:"billed"`
}

type bill struct {
	Piece  string `json:"piece"`
	Part   string `json:"part"`
	Billed string `json:"billed"`
	Reason string `json:"reason"`
}

type promise struct {
	Piece string `json:"piece"`
	By    string `json:"by"`
	Value string `json:"value"`
}

type lockWeek struct {
	Day string `json:"day"`
}
