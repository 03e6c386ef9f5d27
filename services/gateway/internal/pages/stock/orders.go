package stock

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// ordering is what to order, and what is on order.
type ordering struct {
	Tab       string
	Proposals []proposal
	Orders    []ordered
}

// proposal is what to order from one supplier.
type proposal struct {
	ID, Name string
	By       time.Time
	Late     bool // the day is over
	Lines    []proposedLine
	Total    *materialsv1.OrderProposal
}

type proposedLine struct {
	*materialsv1.OrderProposal_Line
	ID    string
	By    time.Time
	Typed string // how many packages the form has
}

// ordered is an order of which something is expected.
type ordered struct {
	*materialsv1.Order
	Expected time.Time
	Late     bool // its day is over and not all has come
	Came     bool // some of it has
}

func showOrders(w http.ResponseWriter, a *web.Asked) error { return showOrdersWith(w, a, nil) }

func showOrdersWith(w http.ResponseWriter, a *web.Asked, refused error) error {
	it, err := loadOrders(a.Context(), a.Kit.Suite, a.Voice.Zone, a.Now())
	if err != nil {
		return err
	}
	if refused != nil {
		it.keepTyped(a)
	}
	return a.ShowRefused(w, "stock", a.Voice.T("orders.title"), it, refused)
}

// keepTyped leaves in the form what was typed into it.
func (o *ordering) keepTyped(a *web.Asked) {
	for i, p := range o.Proposals {
		for j, l := range p.Lines {
			if n := a.Typed("packages." + l.Key()); n != "" && p.ID == idOf(a.Typed("supplier")) {
				o.Proposals[i].Lines[j].Typed = n
			}
		}
	}
}

func loadOrders(ctx context.Context, s *clients.Suite, zone *time.Location, now time.Time) (ordering, error) {
	it := ordering{Tab: "orders"}
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error {
		r, err := s.Orders.ProposeOrders(ctx, &materialsv1.ProposeOrdersRequest{})
		it.Proposals = proposalsOf(r.GetProposals(), zone, now)
		return err
	})
	g.Go(func() error {
		open, err := openOrders(ctx, s, "")
		it.Orders = orderedOf(open, zone, now)
		return err
	})
	return it, g.Wait()
}

func proposalsOf(all []*materialsv1.OrderProposal, zone *time.Location, now time.Time) (out []proposal) {
	for _, p := range all {
		it := proposal{ID: idOf(p.Supplier), Name: p.SupplierName, By: typed.Noon(p.OrderByDate, zone), Total: p}
		it.Late = over(it.By, now, zone)
		for _, l := range p.Lines {
			it.Lines = append(it.Lines, proposedLine{OrderProposal_Line: l, ID: idOf(l.Product), By: typed.Noon(l.OrderByDate, zone), Typed: strconv.Itoa(int(l.Packages))})
		}
		out = append(out, it)
	}
	return out
}

func orderedOf(all []*materialsv1.Order, zone *time.Location, now time.Time) (out []ordered) {
	for _, o := range all {
		it := ordered{Order: o, Expected: typed.Noon(o.ExpectDate, zone), Came: o.State == materialsv1.Order_STATE_PART_RECEIVED}
		it.Late = over(it.Expected, now, zone)
		out = append(out, it)
	}
	return out
}

// over reports whether a day lies before today by the shop's clock.
func over(day, now time.Time, zone *time.Location) bool {
	return !day.IsZero() && day.In(zone).Format(time.DateOnly) < now.In(zone).Format(time.DateOnly)
}

// Key names a line in the form: a product can be ordered in packages of two sizes.
func (l proposedLine) Key() string { return l.ID + "/" + l.PackageLabel }

// placeOrder orders what is proposed, as many packages as were typed; of what has none, nothing.
func placeOrder(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	r := &materialsv1.PlaceOrderRequest{RequestId: a.RequestID(), Supplier: a.Typed("supplier"), Note: a.Typed("note"), ExpectDate: f.Day("expected")}
	for _, key := range a.PostForm["line"] {
		product, label, _ := cutKey(key)
		if n := f.Whole("packages." + key); n != 0 {
			r.Lines = append(r.Lines, &materialsv1.PlaceOrderRequest_Line{Product: "products/" + product, PackageLabel: label, Packages: n})
		}
	}
	err := f.Err()
	if err == nil && len(r.Lines) == 0 {
		err = fault.New(fault.Invalid, "ORDER_EMPTY", "%s", a.Voice.T("orders.empty"))
	}
	if err == nil {
		_, err = a.Kit.Suite.Orders.PlaceOrder(a.Context(), r)
	}
	if fault.Of(err) != nil {
		return showOrdersWith(w, a, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/stock/orders", "orders.placed")
}
