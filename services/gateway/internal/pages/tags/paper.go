package tags

import (
	"bytes"
	"cmp"
	"fmt"
	"net/http"
	"strconv"

	"tackfree/pkg/printed"
	"tackfree/pkg/printed/tagged"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// What is printed on where nobody says so: sizes that are cut out of paper, in millimetres.
const (
	tagSize = "90x60"
	bagSize = "90x40"
	canSize = "90x50"
)

// paper is what is printed on, as it was typed.
type paper struct {
	Label, Paper, Start string
	Sizes               []string // of labels of which there are sheets
}

// paperOf reads what to print on; where nothing is said it is the paper of whoever reads metres or feet.
func paperOf(a *web.Asked, size string) paper {
	q := a.URL.Query()
	it := paper{Label: cmp.Or(q.Get("label"), size), Paper: cmp.Or(q.Get("paper"), printed.PaperOf(a.Voice.Units == words.Metric).Name), Start: cmp.Or(q.Get("start"), "1")}
	if p, err := printed.PaperNamed(it.Paper); err == nil {
		it.Sizes = append([]string{size}, printed.Sizes(p)...)
	}
	return it
}

// sheet is the empty sheet. Faults: PAPER_UNKNOWN, LABEL_SIZE_UNREADABLE, LABELS_OFF_PAPER.
func (p paper) sheet(a *web.Asked, title string) (s printed.Sheet, err error) {
	on, err := printed.PaperNamed(p.Paper)
	if err != nil {
		return s, err
	}
	width, height, err := printed.ReadSize(p.Label)
	if err != nil {
		return s, err
	}
	s.Info = printed.Info{Title: title, Language: a.Voice.Language, Created: a.Now()}
	if s.Start, err = strconv.Atoi(p.Start); err != nil || s.Start < 1 {
		s.Start = -1 // no sheet has a label of that number
	}
	s.Stock, err = printed.StockFor(on, width, height)
	return s, err
}

// file answers with a sheet as PDF under a name. Faults: those of printed.Labels.
func file(w http.ResponseWriter, name string, s printed.Sheet) error {
	var b bytes.Buffer
	if err := printed.Labels(&b, s); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
	_, _ = w.Write(b.Bytes()) // whoever left does not read it
	return nil
}

// wordsOf are the reader's words on labels.
func wordsOf(v *words.Voice) tagged.Words {
	return tagged.Words{Client: v.T("tags.client"), Promised: v.T("tags.promised.when"), LeadFound: v.T("tags.lead.found"), LeadPresumed: v.T("tags.lead.presumed"), More: v.T("tags.more"), LeadRules: v.T("tags.lead.rules"),
		Bag: v.T("tags.bag"), TakenOff: v.T("tags.bag.off"), Opened: v.T("tags.can.opened.on"), OpenedBy: v.T("tags.can.opened.by"), ReadSheet: v.T("tags.can.cautions"), Hazards: v.T("tags.can.hazards")}
}
