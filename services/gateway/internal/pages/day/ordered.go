package day

import (
	"context"
	"errors"
	"path"

	"tackfree/pkg/fault"
	"tackfree/services/gateway/internal/orders"
	"tackfree/services/gateway/internal/web"
)

// orderFacts reads the commissions that are not at their end. A day without them is still a day: while intake is away there
// are none.
func (f *waitFacts) orderFacts(ctx context.Context, a *web.Asked) (err error) {
	f.orders, err = orders.Open(ctx, a.Kit.Suite.Commissions)
	if errors.Is(err, fault.Unavailable) || errors.Is(err, fault.Denied) {
		return nil
	}
	return err
}

// ordered is what clients' commissions need, what is over first.
func (f *waitFacts) ordered() waiting {
	out := waiting{Key: "commission"}
	for _, n := range orders.Needs(f.orders, f.now.In(f.voice.Zone)) {
		text := f.voice.T("orders." + n.Key)
		if n.Change > 0 {
			text += " " + f.voice.Decimal(float64(n.Change), 0)
		}
		out.Each = append(out.Each, wait{Tag: n.Order.PieceTag, Title: n.Order.ClientName, Text: f.voice.T("commissions.number", n.Order.Number) + ": " + text, Due: f.day(n.Day),
			Link: "/commissions/" + path.Base(n.Order.Name), Action: "day.waits.commission.open", Late: n.Late})
	}
	return out
}
