package buying

import (
	"net/http"
	"strconv"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// sources is what came of the pieces of each source.
type sources struct {
	Missing bands.Missing
	Lines   []sourceLine
	Total   sourceLine
	Best    string // what an hour earns most at, and whether another may be as good; empty: too little is known
	Few     bool   // of some too few were sold
}

// sourceLine is a source in the reader's words.
type sourceLine struct {
	*costingv1.SourceCompared
	Title  string
	Days   string
	Hour   string
	Within string // where what an hour earns lies in the long run
	Drawn  string
}

func showSources(w http.ResponseWriter, a *web.Asked) error {
	it := &sources{}
	r, err := a.Kit.Suite.Answers.CompareSources(a.Context(), &costingv1.CompareSourcesRequest{})
	if err := it.Missing.Of(err); err != nil {
		return err
	}
	if it.Missing == "" {
		it.fill(a.Voice, r)
	}
	return show(w, a, a.Voice.T("buying.tab.sources"), page{Tab: "sources", Sources: it}, nil)
}

func (it *sources) fill(v *words.Voice, r *costingv1.CompareSourcesResponse) {
	for _, s := range r.GetSources() {
		it.Lines = append(it.Lines, sourceOf(v, s))
		it.Few = it.Few || s.Few && s.Sold > 0
	}
	it.Total = sourceOf(v, r.GetTotal())
	it.Total.Title = v.T("buying.sources.all")
	it.Best = best(v, r.GetSources())
}

func sourceOf(v *words.Voice, s *costingv1.SourceCompared) sourceLine {
	none := v.T("none")
	out := sourceLine{SourceCompared: s, Title: s.GetTitle(), Days: none, Hour: none, Within: none, Drawn: none}
	if out.Title == "" {
		out.Title = v.T("buying.sources.unsaid")
	}
	if s != nil && s.MedianDays != nil {
		out.Days = strconv.FormatFloat(s.GetMedianDays(), 'f', 0, 64)
	}
	if s.GetProfitPerLabourHour() != nil {
		out.Hour = v.Money(s.ProfitPerLabourHour)
	}
	if s.GetPerHourLow() != nil && s.GetPerHourHigh() != nil {
		out.Within = v.T("buying.sources.between", v.Money(s.PerHourLow), v.Money(s.PerHourHigh))
	}
	if s.GetPerHourPooled() != nil {
		out.Drawn = v.Money(s.PerHourPooled)
	}
	return out
}

// best says which source an hour earns most at, and whether the next may be as good: where their intervals meet.
func best(v *words.Voice, all []*costingv1.SourceCompared) string {
	if len(all) < 2 || all[0].PerHourPooled == nil || all[1].PerHourPooled == nil {
		return ""
	}
	first, second := sourceOf(v, all[0]).Title, sourceOf(v, all[1]).Title
	if all[0].PerHourLow == nil || all[1].PerHourHigh == nil || v.Minor(all[0].PerHourLow) <= v.Minor(all[1].PerHourHigh) {
		return v.T("buying.sources.either", first, second)
	}
	return v.T("buying.sources.best", first, second)
}
