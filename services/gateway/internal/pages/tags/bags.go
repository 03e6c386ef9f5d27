package tags

import (
	"net/http"
	"strings"

	"tackfree/pkg/printed/tagged"
	"tackfree/services/gateway/internal/web"
)

// baggedOf reads what is asked of the bags with a piece's hardware.
func baggedOf(a *web.Asked) sheet {
	q := a.URL.Query()
	return sheet{OfBags: true, Asked: strings.TrimSpace(q.Get("piece")), Bags: q.Get("bag"), Print: paperOf(a, bagSize)}
}

func bags(w http.ResponseWriter, a *web.Asked) error {
	return a.Show(w, "tags", a.Voice.T("tags.bags.title"), baggedOf(a))
}

func bagsPDF(w http.ResponseWriter, a *web.Asked) error {
	it := baggedOf(a)
	err := it.bagsFile(w, a)
	if web.Refusal(err) {
		return a.ShowRefused(w, "tags", a.Voice.T("tags.bags.title"), it, err)
	}
	return err
}

// bagsFile answers with the labels of one piece's bags.
func (s sheet) bagsFile(w http.ResponseWriter, a *web.Asked) error {
	numbers, err := numbersOf([]string{s.Asked})
	if err != nil {
		return err
	}
	if len(numbers) != 1 {
		return errNoNumber
	}
	p, err := pieceOf(a.Context(), a, numbers[0])
	if err != nil {
		return err
	}
	all, err := tagged.ReadBags(p.Parts, strings.Split(s.Bags, "\n"))
	if err != nil {
		return err
	}
	out, err := s.Print.sheet(a, a.Voice.T("tags.bags.title"))
	if err != nil {
		return err
	}
	out.Labels = tagged.Bags(p, all, a.Voice.DayOf(a.Now()), address(a)+"/pieces/"+numbers[0], wordsOf(a.Voice))
	return file(w, "bags-"+numbers[0]+".pdf", out)
}
