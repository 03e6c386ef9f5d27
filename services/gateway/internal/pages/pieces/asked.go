package pieces

import (
	"net/url"
	"strings"
)

// Asked is what somebody looks for, as the address has it.
type Asked struct {
	Find     string
	State    string // one of states
	Promised bool
	Token    string // of the board's next page; of a search how many were shown
}

func askedOf(q url.Values) Asked {
	it := Asked{Find: strings.TrimSpace(q.Get("find")), State: q.Get("state"), Promised: q.Get("promised") != "", Token: q.Get("page")}
	if _, known := boardStates[it.State]; !known {
		it.State = states[0]
	}
	return it
}

// Searches reports whether lines are found rather than taken from the board as they come.
func (it Asked) Searches() bool { return it.Find != "" || it.Promised }

// query is the address of a page of what is looked for, after the question mark; empty token: the first.
func (it Asked) query(token string) string {
	q := url.Values{}
	if it.Find != "" {
		q.Set("find", it.Find)
	}
	if it.State != states[0] {
		q.Set("state", it.State)
	}
	if it.Promised {
		q.Set("promised", "1")
	}
	if token != "" {
		q.Set("page", token)
	}
	return q.Encode()
}

// From is where this page is fetched anew from.
func (it Asked) From() string { return "/pieces/part/list?" + it.query(it.Token) }

// words are those looked for, in small letters.
func (it Asked) words() []string { return strings.Fields(strings.ToLower(it.Find)) }
