package day

import (
	"cmp"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"
	"google.golang.org/protobuf/types/known/timestamppb"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/alerts"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// stock is what somebody should do about materials today.
type stock struct {
	Missing bands.Missing
	Alerts  []alert
	More    int
	Oily    oily
}

// alert is one that is open; what waits because a stage would stand still is among what waits.
type alert struct {
	Kind    string
	Product string
	Text    string
	English bool // though the reader's language is another
	Due     *timestamppb.Timestamp
	Link    string
}

// oily is whether oily rags are put away.
type oily struct {
	Open    bool
	Due     *timestamppb.Timestamp
	Who     []string // whose work left some
	Caution string
	Checked *timestamppb.Timestamp // when somebody last saw to it today
}

const mostAlerts = 10

// standsStill is the kind of alert of a stage that will not have enough.
const standsStill = "stage stands still"

func (*day) stock(a *web.Asked) (it stock, err error) {
	var open []*materialsv1.Alert
	var waste *materialsv1.GetOilyWasteResponse
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() (err error) {
		open, err = alertsOf(ctx, a.Kit.Suite)
		return err
	})
	reading.Go(func() (err error) {
		waste, err = a.Kit.Suite.Storage.GetOilyWaste(ctx, &materialsv1.GetOilyWasteRequest{})
		return err
	})
	if err := reading.Wait(); err != nil {
		return it, it.Missing.Of(err)
	}
	it.Alerts, it.More = atMost(alertsIn(a.Voice, open, a.Now()), mostAlerts)
	it.Oily = oilyOf(waste)
	return it, nil
}

// alertsIn are the open alerts, what is due first before the rest.
func alertsIn(v *words.Voice, all []*materialsv1.Alert, now time.Time) (out []alert) {
	for _, a := range all {
		if a.CloseTime != nil || a.Kind == standsStill {
			continue
		}
		it := alert{Kind: v.Word("day.alert", a.Kind), Product: a.ProductName, Due: a.DueTime, Link: "/stock"}
		it.Text, it.English = alerts.Say(v, a, now)
		if a.Product != "" {
			it.Link = "/stock/" + lastOf(a.Product)
		}
		out = append(out, it)
	}
	slices.SortStableFunc(out, func(a, b alert) int { return cmp.Or(byTime(a.Due, b.Due), cmp.Compare(a.Product, b.Product)) })
	return out
}

func oilyOf(r *materialsv1.GetOilyWasteResponse) (out oily) {
	out = oily{Open: r.Open, Due: r.DueTime, Caution: r.Caution}
	for _, w := range r.Work {
		if w.Open && w.Person != "" && !slices.Contains(out.Who, w.Person) {
			out.Who = append(out.Who, w.Person)
		}
	}
	for _, c := range r.Checks {
		if c.WithdrawTime == nil && (out.Checked == nil || c.ConfirmTime.AsTime().After(out.Checked.AsTime())) {
			out.Checked = c.ConfirmTime
		}
	}
	return out
}
