package server

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/stock"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
)

// wantedOrder is an order as somebody gave it.
type wantedOrder struct {
	supplier   id.ID
	lines      []wantedLine
	at, expect time.Time // expect is a calendar day; zero: nobody said
	note       string
}

type wantedLine struct {
	product id.ID
	label   string
	count   int32
	price   *money.Amount // nil: as offered
}

func (s *Server) decodeOrder(r *materialsv1.PlaceOrderRequest) (w wantedOrder, err error) {
	w.note = r.Note
	if w.supplier, err = id.One("supplier", r.Supplier, "suppliers"); err != nil {
		return w, err
	}
	if w.at, err = s.Shop.Instant("order_time", r.OrderTime); err != nil {
		return w, err
	}
	if w.expect, err = wire.Day("expect_date", r.ExpectDate); err != nil {
		return w, err
	}
	for n, m := range r.Lines {
		l, err := s.decodeOrderLine(fmt.Sprintf("lines[%d]", n), m)
		if err != nil {
			return w, err
		}
		if slices.ContainsFunc(w.lines, func(o wantedLine) bool { return o.product == l.product && strings.EqualFold(o.label, l.label) }) {
			return w, fault.New(fault.Invalid, "ORDER_LINE_TWICE", "Two lines are of the same package; make one of them.").At(fmt.Sprintf("lines[%d]", n))
		}
		w.lines = append(w.lines, l)
	}
	return w, nil
}

func (s *Server) decodeOrderLine(field string, m *materialsv1.PlaceOrderRequest_Line) (l wantedLine, err error) {
	l.count = m.Packages
	if l.product, err = id.One(field+".product", m.Product, "products"); err != nil {
		return l, err
	}
	if l.label, err = nameOf(field+".package_label", m.PackageLabel); err != nil || m.Price == nil {
		return l, err
	}
	price, err := s.Shop.Money(field+".price", m.Price)
	l.price = &price
	return l, err
}

func (w wantedOrder) products() (all []id.ID) {
	for _, l := range w.lines {
		all = append(all, l.product)
	}
	return all
}

// order makes the order of what is known of the supplier and the products. Faults:
// SUPPLIER_RETIRED, PRODUCT_NOT_FOUND, PACKAGE_UNKNOWN, EXPECTED_BEFORE_ORDERED.
func (w wantedOrder) order(products map[id.ID]materials.Product, from materials.Seller, zone *time.Location) (o materials.Order, err error) {
	if from.Retired {
		return o, fault.New(fault.Precondition, "SUPPLIER_RETIRED", "Nothing more is bought from %s; choose another supplier.", from.Name).At("supplier")
	}
	o = materials.Order{Supplier: from.ID, SupplierName: from.Name, OrderedAt: w.at, Note: w.note}
	slowest := 0.0
	for n, want := range w.lines {
		p, there := products[want.product]
		if !there {
			return o, fault.New(fault.NotFound, "PRODUCT_NOT_FOUND", "There is no such product; look its name up in the list.").At(fmt.Sprintf("lines[%d].product", n))
		}
		offer, err := from.Offer(p, want.label)
		if f := fault.Of(err); f != nil {
			return o, f.At(fmt.Sprintf("lines[%d].package_label", n))
		}
		takes, err := stock.Learn(float64(offer.LeadDays), offer.Took)
		if err != nil {
			return o, err
		}
		slowest = max(slowest, takes.Mean)
		o.Lines = append(o.Lines, want.line(p, offer))
	}
	o.ExpectedAt, err = materials.Expected(w.at, w.expect, int(math.Ceil(slowest)), zone)
	return o, err
}

func (l wantedLine) line(p materials.Product, of materials.Offered) materials.OrderLine {
	price, _ := of.PriceOf(int(l.count))
	if l.price != nil {
		price = *l.price
	}
	return materials.OrderLine{Product: p.ID, ProductName: p.Name, Unit: p.Unit, Package: of.Package, Count: l.count, Content: of.Content, Price: price}
}
