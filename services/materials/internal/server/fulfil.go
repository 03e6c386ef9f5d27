package server

import (
	"context"
	"strconv"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// decodeOrderLine reads purchaseOrders/{order}/lines/{number}. Fault: INVALID_NAME.
func decodeOrderLine(field, name string) (order id.ID, line int32, err error) {
	of, number, ok := strings.Cut(name, "/lines/")
	n, numberErr := strconv.ParseInt(number, 10, 32)
	if order, err = id.One(field, of, "purchaseOrders"); err != nil || !ok || numberErr != nil {
		return order, 0, fault.New(fault.Invalid, "INVALID_NAME", "%s must be purchaseOrders/{order}/lines/{number}; look the order up.", fault.The(field)).At(field)
	}
	return order, int32(n), nil
}

// fulfil takes what came off the orders that it fulfils, which are locked by id.
func (s *Server) fulfil(ctx context.Context, tx *pg.Tx, lines []arrival, entries []materials.Entry, now time.Time) error {
	by := map[id.ID][]int{}
	for n, l := range lines {
		if l.order != id.Nil {
			by[l.order] = append(by[l.order], n)
		}
	}
	st := store.New(tx)
	for _, order := range inOrder(by) {
		o, err := st.LockOrder(ctx, order)
		if err != nil {
			return atLine(err, "order_line", by[order][0])
		}
		var facts []materials.OrderFact
		for _, n := range by[order] {
			told, err := o.Receive(lines[n].line, entries[n].Quantity, entries[n].At)
			if err == nil && o.Lines[lines[n].line-1].Product != lines[n].product {
				err = fault.New(fault.NotFound, "ORDER_LINE_NOT_FOUND", "Line %d of order %d is of another product; look the order up.", lines[n].line, o.Number)
			}
			if err != nil {
				return atLine(err, "order_line", n)
			}
			facts = append(facts, told...)
		}
		if err := st.SaveOrder(ctx, o); err != nil {
			return err
		}
		if err := s.tellOrder(ctx, tx, o, facts, entries[by[order][0]].At, now); err != nil {
			return err
		}
	}
	return nil
}
