package server

import (
	"context"
	"slices"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// WatchShop implements AnswerService.
func (s *Server) WatchShop(_ *costingv1.WatchShopRequest, stream grpc.ServerStreamingServer[costingv1.WatchShopResponse]) error {
	v := &overseer{Server: s}
	err := s.Hub.WatchAll(stream.Context(), s.Stop, func(ctx context.Context) error {
		news, err := v.news(ctx)
		if err != nil || news == nil {
			return err
		}
		return stream.Send(news)
	})
	if err != nil {
		return err
	}
	return fault.New(fault.Unavailable, "SERVICE_STOPPING", "The service is stopping; watch again in a moment.")
}

// overseer is one who watches the shop, and what they have seen of it.
type overseer struct {
	*Server
	makings store.ShopMakings
	at      time.Time
	seen    *costingv1.WatchShopResponse // nil at first
}

// reread is how long at most the state of the shop is taken for what it was: costing's own records can
// change it without an event, and so does midnight.
const reread = time.Minute

// news reads the state of the shop if it may be another than the one seen, and gives it if it is; nil
// if it is not. Most looks find nothing, so they ask in small first.
func (v *overseer) news(ctx context.Context) (*costingv1.WatchShopResponse, error) {
	now := v.Shop.Now()
	var makings store.ShopMakings
	err := v.DB.View(ctx, func(q pg.Querier) (err error) {
		makings, err = store.New(q).ShopMakings(ctx)
		return err
	})
	sameDay := costing.DayOf(now, v.Shop.Zone) == costing.DayOf(v.at, v.Shop.Zone)
	if err != nil || v.seen != nil && makings == v.makings && sameDay && now.Sub(v.at) < reread {
		return nil, err
	}
	state, err := v.state(ctx, now)
	if err != nil {
		return nil, err
	}
	v.makings, v.at = makings, now
	if proto.Equal(state, v.seen) {
		return nil, nil
	}
	v.seen = state
	return state, nil
}

// state is how the shop stands.
func (s *Server) state(ctx context.Context, now time.Time) (*costingv1.WatchShopResponse, error) {
	out := &costingv1.WatchShopResponse{}
	err := s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := s.sheets(q)
		total, err := st.Total(ctx)
		if err != nil {
			return err
		}
		balances, err := st.Balances(ctx)
		if err != nil {
			return err
		}
		moved, err := st.Within(ctx, costing.DayOf(now, s.Shop.Zone))
		if err != nil {
			return err
		}
		counts, err := st.Counts(ctx)
		if err != nil {
			return err
		}
		open, err := st.MaybeOpen(ctx)
		out.Total, out.Accounts, out.Today = s.encodeSums(total), s.encodeBalances(balances), s.encodeDay(now, moved)
		out.InHand, out.Listed, out.Sold, out.Scrapped = counts.InHand, counts.Listed, counts.Sold, counts.Scrapped
		out.Provisional = int32(len(slices.DeleteFunc(open, func(sheet costing.Sheet) bool { return len(sheet.Open(s.Shop.Zone, s.Shop.Currency)) == 0 })))
		return err
	})
	return out, err
}

// encodeDay writes what moved on a day. What was earned and what is owed are credits.
func (s *Server) encodeDay(now time.Time, moved []store.Moved) *costingv1.WatchShopResponse_Day {
	rules := s.Keeper.Rules
	var revenue, labour, material money.Amount
	for _, m := range moved {
		switch {
		case m.Bucket == costing.Earned:
			revenue -= m.Amount
		case m.Bucket == costing.NoBucket && slices.Contains(rules.Wages(), string(m.Account)):
			labour -= m.Amount
		case m.Bucket == costing.NoBucket && m.OfPiece && slices.Contains(rules.Shelves(), string(m.Account)):
			material -= m.Amount
		}
	}
	m := s.Shop.ToMoney
	return &costingv1.WatchShopResponse_Day{Date: wire.ToDay(now.In(s.Shop.Zone)), Revenue: m(revenue), Labour: m(labour), Material: m(material)}
}
