// Package pieces is the list of pieces: found by tag or by words, with what state each is in, where it
// stands, what is next on it and until when it is promised.
//
//	/pieces                  the board's own pages of 100, in the order of the tags
//	/pieces?find=oak dresser every piece that intake has, narrowed to those with all the words ─┐
//	/pieces/new              the form by which one is taken in
//	/pieces?promised=1       what was promised, the soonest first                               ├─▶ pages of 100
//	board lines (workflow) + titles (intake) ──▶ list ──▶ template ◀────────────────────────────┘
package pieces

import (
	"embed"
	"net/http"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css
var files embed.FS

// pieces has the pages of the list; book is what pieces are called.
type pieces struct{ book titles.Book }

// Page is the list of pieces.
func Page() web.Page {
	p := &pieces{}
	return web.Page{Files: files, Routes: map[string]web.Handler{"GET /pieces": p.show, "GET /pieces/part/list": p.showList,
		"GET /pieces/new": web.ForLeads(showTakeIn), "POST /pieces/new": web.ForLeads(takeIn)}}
}

// list is a page of the list.
type list struct {
	Asked
	Lines  []line
	Next   string // the address of the next page; empty: this is the last
	All    int    // of a search: how many were found; -1: it was none
	States []string
}

// states are the choices, in the order in which they are offered: the first is all that is in the shop.
var states = []string{"here", "in_work", "ready", "drying", "away", "unplanned", "done", "sold_open", "scrapped", "all"}

var boardStates = map[string][]workflowv1.BoardLine_State{
	"here": nil, "in_work": {workflowv1.BoardLine_STATE_IN_WORK}, "ready": {workflowv1.BoardLine_STATE_READY}, "drying": {workflowv1.BoardLine_STATE_DRYING},
	"away": {workflowv1.BoardLine_STATE_AWAY}, "unplanned": {workflowv1.BoardLine_STATE_UNPLANNED}, "done": {workflowv1.BoardLine_STATE_DONE},
	"sold_open": {workflowv1.BoardLine_STATE_SOLD}, "scrapped": {workflowv1.BoardLine_STATE_SCRAPPED},
	"all": {workflowv1.BoardLine_STATE_IN_WORK, workflowv1.BoardLine_STATE_READY, workflowv1.BoardLine_STATE_DRYING, workflowv1.BoardLine_STATE_AWAY,
		workflowv1.BoardLine_STATE_UNPLANNED, workflowv1.BoardLine_STATE_DONE, workflowv1.BoardLine_STATE_SOLD, workflowv1.BoardLine_STATE_SCRAPPED},
}

func (p *pieces) show(w http.ResponseWriter, a *web.Asked) error {
	it, err := p.list(a)
	if err != nil {
		return err
	}
	return a.Show(w, "pieces", a.Voice.T("pieces.title"), it)
}

func (p *pieces) showList(w http.ResponseWriter, a *web.Asked) error {
	it, err := p.list(a)
	if err != nil {
		return err
	}
	return a.ShowPart(w, "pieces", "list", it)
}
