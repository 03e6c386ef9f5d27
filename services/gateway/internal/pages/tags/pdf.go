package tags

import (
	"net/http"

	"tackfree/pkg/printed"
	"tackfree/pkg/printed/tagged"
	"tackfree/services/gateway/internal/web"
)

func onePDF(w http.ResponseWriter, a *web.Asked) error {
	number := a.PathValue("tag")
	return tagsPDF(w, a, paperOf(a, tagSize), "tag-"+number+".pdf", []string{number})
}

func severalPDF(w http.ResponseWriter, a *web.Asked) error {
	it, numbers, err := asked(a)
	if err == nil {
		err = tagsPDF(w, a, it.Print, "tags.pdf", numbers)
	}
	if web.Refusal(err) {
		return a.ShowRefused(w, "tags", a.Voice.T("tags.title"), it, err)
	}
	return err
}

// tagsPDF answers with tags on a sheet.
func tagsPDF(w http.ResponseWriter, a *web.Asked, on paper, name string, numbers []string) error {
	s, err := on.sheet(a, a.Voice.T("tags.title"))
	if err != nil {
		return err
	}
	tags, err := tagsOf(a, numbers)
	if err != nil {
		return err
	}
	s.Hole = s.Stock.Cut
	for _, t := range tags {
		p := tagged.Piece{Piece: t.Piece, Kind: a.Voice.Word("piece", t.Piece.Kind), Presumed: t.Presumed, Found: t.Found, Code: t.Code.Text}
		if !t.Promise.IsZero() {
			p.Promise = a.Voice.DayOf(t.Promise) + ", " + a.Voice.ClockOf(t.Promise)
		}
		s.Labels = append(s.Labels, tagged.Of(p, wordsOf(a.Voice)))
	}
	return file(w, name, s)
}

func canPDF(w http.ResponseWriter, a *web.Asked) error {
	product, err := productOf(a)
	if err != nil {
		return err
	}
	s, err := paperOf(a, canSize).sheet(a, a.Voice.T("tags.can.title", product.DisplayName))
	if err != nil {
		return err
	}
	s.Labels = []printed.Label{tagged.Can(product, canAddress(a), wordsOf(a.Voice))}
	return file(w, "can.pdf", s)
}
