package money

import (
	"context"
	"math/big"
	"net/url"
	"strconv"
	"strings"

	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/clients"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// By what earnings are put together, in the order in which it is offered.
var (
	earnedBy    = []string{"kind", "source", "finish", "channel", "month", "piece"}
	earnedByIts = map[string]costingv1.ListEarningsRequest_By{
		"kind": costingv1.ListEarningsRequest_BY_KIND, "source": costingv1.ListEarningsRequest_BY_SOURCE, "finish": costingv1.ListEarningsRequest_BY_FINISH,
		"channel": costingv1.ListEarningsRequest_BY_CHANNEL, "month": costingv1.ListEarningsRequest_BY_MONTH, "piece": costingv1.ListEarningsRequest_BY_PIECE,
	}
)

// earned is what sold pieces earned for each hands-on hour.
type earned struct {
	asked
	counts
	Missing  bands.Missing
	Lines    []earning
	Total    *costingv1.Earning
	Returned int
	Left     *moneyv1.Money // by what was returned
	Chart    chart
}

// earning is a line, as it is called in the reader's language.
type earning struct {
	*costingv1.Earning
	Called string
}

// Groupings are the choices.
func (earned) Groupings() []string { return earnedBy }

func loadEarned(a *web.Asked) (it earned, err error) {
	if it.asked, err = askedOf(a, earnedBy); err != nil {
		return it, err
	}
	r := &costingv1.ListEarningsRequest{By: earnedByIts[it.By], FromDate: it.from, ToDate: it.to, PageSize: pageSize}
	lines, err := clients.All(a.Context(), func(ctx context.Context, token string) ([]*costingv1.Earning, string, error) {
		r.PageToken = token
		answer, err := a.Kit.Suite.Answers.ListEarnings(ctx, r)
		if err == nil {
			it.Total, it.Returned, it.Left = answer.Total, int(answer.Returned), answer.LeftByReturns
		}
		return answer.GetLines(), answer.GetNextPageToken(), err
	})
	if err != nil {
		return it, it.Missing.Of(err)
	}
	it.lay(a.Voice, lines)
	return it, nil
}

// lay names the lines, puts the best first, months as they followed each other, and draws them.
func (e *earned) lay(v *words.Voice, lines []*costingv1.Earning) {
	for _, l := range lines {
		e.Lines = append(e.Lines, earning{l, calledBy(v, e.By, l.Key, l.Title)})
	}
	if e.By != "month" {
		highestFirst(e.Lines, func(l earning) (int64, bool) {
			return v.Minor(l.ProfitPerLabourHour), l.ProfitPerLabourHour != nil
		})
	}
	bars := make([]bar, len(e.Lines))
	for i, l := range e.Lines {
		label := v.N("money.on", int(l.Pieces), l.Called)
		if l.Tag != 0 {
			label = strconv.Itoa(int(l.Tag)) + " " + l.Called
		}
		bars[i] = moneyBar(v, label, l.ProfitPerLabourHour)
	}
	e.Chart = draw(bars, writeMoney(v))
}

// calledBy says what a line is of in the reader's language; what the shop itself has named stays so.
func calledBy(v *words.Voice, by, key, title string) string {
	switch {
	case key == "" && by != "piece":
		return v.T("money.unsaid")
	case by == "kind" && v.Has("piece."+key):
		return v.T("piece." + key)
	case by == "stage_kind" && v.Has("kind."+key):
		return v.T("kind." + key)
	case by == "defect" && v.Has("defect."+key):
		return v.T("defect." + key)
	case by == "month":
		return monthText(v, key)
	}
	return title
}

// Sold is on how many pieces it rests, and Time on how many hours.
func (e earned) Sold() int { return int(e.Total.GetPieces()) }

// Time is the hours on them.
func (e earned) Time() *durationpb.Duration { return e.Total.GetTime() }

// Open is how many of them are not final.
func (e earned) Open() int { return int(e.Total.GetProvisional()) }

// Percent writes a percentage to a tenth, as near as anybody reads it.
func (earned) Percent(v *web.View, percent string) string {
	exact, ok := new(big.Rat).SetString(percent)
	if !ok {
		return ""
	}
	return strings.NewReplacer(".", v.T("decimal.point"), "-", "−").Replace(exact.FloatString(1)) + " %"
}

// CSV is where the same is as a table for a spreadsheet.
func (e earned) CSV() string {
	q := url.Values{"format": {"csv"}, "by": {earnedByIts[e.By].String()}}
	for field, d := range map[string]*date.Date{"fromDate": e.from, "toDate": e.to} {
		if d != nil {
			q.Set(field+".year", strconv.Itoa(int(d.Year)))
			q.Set(field+".month", strconv.Itoa(int(d.Month)))
			q.Set(field+".day", strconv.Itoa(int(d.Day)))
		}
	}
	return "/v1/earnings?" + q.Encode()
}
