package server

import (
	"context"
	"fmt"
	"slices"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// arrival is a line of a bill as it is asked for.
type arrival struct {
	product id.ID
	amount  materials.Packed
	expires time.Time
	place   string // its word
	code    string
	order   id.ID // id.Nil: none
	line    int32
}

// ReceiveDelivery implements StockService. Products are locked by id, then the orders.
func (s *Server) ReceiveDelivery(ctx context.Context, r *materialsv1.ReceiveDeliveryRequest) (*materialsv1.ReceiveDeliveryResponse, error) {
	now := s.Shop.Now()
	lines, costs, err := s.decodeLines(r)
	if err != nil {
		return nil, err
	}
	at, err := s.Shop.Instant("receive_time", r.ReceiveTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.ReceiveDeliveryResponse, error) {
		if err := store.New(tx).CheckSupplier(ctx, wire.Name(r.Supplier)); err != nil {
			return nil, err
		}
		shelves, err := s.openAll(ctx, tx, now, lines)
		if err != nil {
			return nil, err
		}
		entries, err := s.arrive(ctx, tx, shelves, lines, costs, at, r)
		if err != nil {
			return nil, err
		}
		if err := s.fulfil(ctx, tx, lines, entries, now); err != nil {
			return nil, err
		}
		var all []*noting
		for _, product := range inOrder(shelves) {
			if err := s.note(ctx, tx, shelves[product], of(product, lines, entries)...); err != nil {
				return nil, err
			}
			all = append(all, shelves[product])
		}
		if err := s.cascade(ctx, tx, all...); err != nil {
			return nil, err
		}
		return s.delivered(ctx, tx, shelves, lines, entries)
	})
}

// decodeLines reads the lines and what each cost with its share of freight and discount.
func (s *Server) decodeLines(r *materialsv1.ReceiveDeliveryRequest) ([]arrival, []money.Amount, error) {
	lines, costs := make([]arrival, len(r.Lines)), make([]money.Amount, len(r.Lines))
	for n, m := range r.Lines {
		var err error
		prefix := fmt.Sprintf("lines[%d].", n)
		if lines[n], err = s.decodeLine(prefix, m); err != nil {
			return nil, nil, err
		}
		if costs[n], err = s.Shop.Money(prefix+"cost", m.Cost); err != nil {
			return nil, nil, err
		}
	}
	freight, err := s.Shop.Money("freight", r.Freight)
	if err != nil {
		return nil, nil, err
	}
	discount, err := s.Shop.Money("discount", r.Discount)
	if err != nil {
		return nil, nil, err
	}
	costs, err = materials.Landed(costs, freight, discount)
	return lines, costs, err
}

func (s *Server) decodeLine(prefix string, m *materialsv1.DeliveryLine) (a arrival, err error) {
	a.code = wire.Name(m.BatchCode)
	if a.product, err = id.One(prefix+"product", m.Product, "products"); err != nil {
		return a, err
	}
	if a.amount, err = packed(prefix, m.GetPackages(), m.GetQuantity()); err != nil {
		return a, err
	}
	if m.Place != "" {
		if a.place, err = placeWord(prefix+"place", m.Place); err != nil {
			return a, err
		}
	}
	if a.expires, err = s.expiresOn(prefix+"expire_date", m.ExpireDate); err != nil {
		return a, err
	}
	if m.OrderLine != "" {
		a.order, a.line, err = decodeOrderLine(prefix+"order_line", m.OrderLine)
	}
	return a, err
}

// expiresOn is the end of a day in the shop's zone; no day: nobody knows. Fault: DATE_MALFORMED.
func (s *Server) expiresOn(field string, d *date.Date) (time.Time, error) {
	day, err := wire.Day(field, d)
	if err != nil || day.IsZero() {
		return time.Time{}, err
	}
	return time.Date(day.Year(), day.Month(), day.Day()+1, 0, 0, 0, 0, s.Shop.Zone).UTC(), nil
}

// openAll locks the shelves of all products of a bill, by id.
func (s *Server) openAll(ctx context.Context, tx *pg.Tx, now time.Time, lines []arrival) (map[id.ID]*noting, error) {
	shelves := map[id.ID]*noting{}
	for _, l := range lines {
		shelves[l.product] = nil
	}
	for _, product := range inOrder(shelves) {
		n, err := s.open(ctx, tx, now, product, nil)
		if err != nil {
			return nil, atLine(err, "product", slices.IndexFunc(lines, func(l arrival) bool { return l.product == product }))
		}
		shelves[product] = n
	}
	return shelves, nil
}

// atLine points a fault at a field of a line.
func atLine(err error, field string, line int) error {
	if f := fault.Of(err); f != nil {
		return f.At(fmt.Sprintf("lines[%d].%s", line, field))
	}
	return err
}

// arrive makes the entries of a bill, one for each line.
func (s *Server) arrive(ctx context.Context, tx *pg.Tx, shelves map[id.ID]*noting, lines []arrival, costs []money.Amount, at time.Time, r *materialsv1.ReceiveDeliveryRequest) ([]materials.Entry, error) {
	entries := make([]materials.Entry, len(lines))
	for n, l := range lines {
		on := shelves[l.product]
		e := on.entry(ctx, at, r.ReceiveTime)
		e.Cost, e.Supplier, e.Code, e.Expires, e.Order, e.Line = costs[n], wire.Name(r.Supplier), l.code, l.expires, l.order, l.line
		place, err := s.placeOf(ctx, tx, l.place)
		if err != nil {
			return nil, atLine(err, "place", n)
		}
		e.Place = place
		if entries[n], err = on.shelf.Product.Receive(fmt.Sprintf("lines[%d].", n), e, l.amount); err != nil {
			return nil, err
		}
	}
	return entries, nil
}

func of(product id.ID, lines []arrival, entries []materials.Entry) (out []materials.Entry) {
	for n, l := range lines {
		if l.product == product {
			out = append(out, entries[n])
		}
	}
	return out
}

func (s *Server) delivered(ctx context.Context, tx *pg.Tx, shelves map[id.ID]*noting, lines []arrival, entries []materials.Entry) (*materialsv1.ReceiveDeliveryResponse, error) {
	out := &materialsv1.ReceiveDeliveryResponse{}
	for n, e := range entries {
		on := shelves[lines[n].product].shelf
		lot, err := s.lotNow(ctx, tx, on, e.Lot)
		if err != nil {
			return nil, err
		}
		out.Lots = append(out.Lots, lot)
	}
	for _, product := range inOrder(shelves) {
		on := shelves[product]
		out.Products = append(out.Products, s.encode(on.shelf.Product))
		out.Recostings = append(out.Recostings, s.encodeRecosted(on)...)
	}
	return out, nil
}

// lotNow writes a lot of a shelf as it is now.
func (s *Server) lotNow(ctx context.Context, tx *pg.Tx, on *materials.Shelf, lot id.ID) (*materialsv1.Lot, error) {
	l, err := on.Lot(lot)
	if err != nil {
		return nil, err
	}
	places, err := store.New(tx).PlaceWords(ctx, []id.ID{l.Place})
	return s.encodeLot(on.Product, on.Method, l, places), err
}
