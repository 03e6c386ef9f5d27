package commissions

import (
	"net/http"
	"net/url"
	"time"

	"golang.org/x/sync/errgroup"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/orders"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// list is what needs somebody, and commissions by their state.
type list struct {
	Needs  []need
	State  string // empty: all
	States []string
	Lines  []line
	Next   string // address of the next page
}

// need is one thing that a commission needs.
type need struct {
	orders.Need
	On string // the day
}

// line is a commission in a list.
type line struct {
	*intakev1.CommissionOrder
	Path, State, Sum, On string
}

// pageSize is how many commissions a page shows.
const pageSize = 50

func showList(w http.ResponseWriter, a *web.Asked) error {
	it := &list{State: a.URL.Query().Get("state"), States: states}
	if _, known := stateOf[it.State]; !known {
		it.State = ""
	}
	var reading errgroup.Group
	reading.Go(func() error {
		open, err := orders.Open(a.Context(), a.Kit.Suite.Commissions)
		for _, n := range orders.Needs(open, today(a)) {
			it.Needs = append(it.Needs, need{n, dayText(a.Voice, n.Day)})
		}
		return err
	})
	reading.Go(func() error {
		r, err := a.Kit.Suite.Commissions.ListCommissions(a.Context(), &intakev1.ListCommissionsRequest{State: stateOf[it.State], PageSize: pageSize, PageToken: a.URL.Query().Get("page")})
		it.Lines = linesOfOrders(a.Voice, r.GetCommissions())
		if token := r.GetNextPageToken(); token != "" {
			it.Next = "/commissions?" + url.Values{"state": {it.State}, "page": {token}}.Encode()
		}
		return err
	})
	if err := reading.Wait(); err != nil {
		return err
	}
	return show(w, a, a.Voice.T("commissions.title"), page{Tab: "commissions", List: it}, nil)
}

func today(a *web.Asked) time.Time { return a.Now().In(a.Voice.Zone) }

func linesOfOrders(v *words.Voice, all []*intakev1.CommissionOrder) (out []line) {
	for _, c := range all {
		sum := newest(c).GetTotals().GetTotal()
		if c.Invoice != nil {
			sum = c.Invoice.Total
		}
		out = append(out, line{c, addressOf(c), stateWord(c.State), v.Money(sum), dayText(v, c.Promised)})
	}
	return out
}

// Address is where a need is settled.
func (n need) Address() string {
	if n.Key == "change" {
		return addressOf(n.Order) + "#changes"
	}
	return addressOf(n.Order)
}
