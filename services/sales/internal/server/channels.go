package server

import (
	"context"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// SetChannel implements ChannelService.
func (s *Server) SetChannel(ctx context.Context, r *salesv1.SetChannelRequest) (*salesv1.SetChannelResponse, error) {
	said := sales.Channel{ID: id.New(), Name: wire.Name(r.DisplayName), Key: wire.NameKey(r.DisplayName), Kind: wire.Name(r.Kind), WebAddress: r.WebAddress}
	var err error
	if said.Fees, err = s.decodeFees(r.Fees); err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, s.Shop.Now(), func(ctx context.Context, tx *pg.Tx) (*salesv1.SetChannelResponse, error) {
		c, err := store.New(tx).LockOrMakeChannel(ctx, said)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, c.Version); err != nil {
			return nil, err
		}
		if err := c.Set(said); err != nil {
			return nil, err
		}
		return &salesv1.SetChannelResponse{Channel: s.encodeChannel(c)}, s.keepChannel(ctx, tx, c, s.channelSet(c))
	})
}

// RetireChannel implements ChannelService.
func (s *Server) RetireChannel(ctx context.Context, r *salesv1.RetireChannelRequest) (*salesv1.RetireChannelResponse, error) {
	channel, err := id.One("name", r.Name, "channels")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, s.Shop.Now(), func(ctx context.Context, tx *pg.Tx) (*salesv1.RetireChannelResponse, error) {
		c, err := store.New(tx).LockChannel(ctx, channel)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, c.Version); err != nil {
			return nil, err
		}
		if err := c.Retire(); err != nil {
			return nil, err
		}
		return &salesv1.RetireChannelResponse{Channel: s.encodeChannel(c)}, s.keepChannel(ctx, tx, c, &eventsv1.ChannelRetired{DisplayName: c.Name})
	})
}

// keepChannel writes a channel with the event that made its present version.
func (s *Server) keepChannel(ctx context.Context, tx *pg.Tx, c sales.Channel, payload proto.Message) error {
	if err := store.New(tx).SaveChannel(ctx, c); err != nil {
		return err
	}
	now := s.Shop.Now()
	return s.Log.Append(ctx, tx, outbox.Event{Kind: "channel", Aggregate: c.ID, Version: c.Version, OccurredAt: now.UTC(), Payload: payload}, now)
}

// GetChannel implements ChannelService.
func (s *Server) GetChannel(ctx context.Context, r *salesv1.GetChannelRequest) (*salesv1.GetChannelResponse, error) {
	channel, err := id.One("name", r.Name, "channels")
	if err != nil {
		return nil, err
	}
	var c sales.Channel
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		c, err = store.New(q).Channel(ctx, channel)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &salesv1.GetChannelResponse{Channel: s.encodeChannel(c)}, nil
}

// ListChannels implements ChannelService.
func (s *Server) ListChannels(ctx context.Context, r *salesv1.ListChannelsRequest) (*salesv1.ListChannelsResponse, error) {
	after := ""
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var all []sales.Channel
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		all, err = store.New(q).Channels(ctx, after, r.ShowRetired, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &salesv1.ListChannelsResponse{NextPageToken: page.Next(all, size, func(c sales.Channel) any { return c.Key })}
	for _, c := range all {
		out.Channels = append(out.Channels, s.encodeChannel(c))
	}
	return out, nil
}

// open refuses channels that were retired. Of one that nobody described nothing is known, and it is open. Fault: CHANNEL_RETIRED.
func open(ctx context.Context, st store.Store, field string, names []string) error {
	keys := make([]string, len(names))
	for i, name := range names {
		keys[i] = wire.NameKey(name)
	}
	known, err := st.ChannelsNamed(ctx, keys...)
	if err != nil {
		return err
	}
	for _, key := range keys {
		if c, described := known[key]; described {
			if err := c.Open(field); err != nil {
				return err
			}
		}
	}
	return nil
}

// takeFee sets the fee of a sale on a channel by what that keeps, and reports whether it did. Fault: FEE_ABOVE_PRICE.
func takeFee(ctx context.Context, st store.Store, channel string, a *sales.Amounts) (bool, error) {
	key := wire.NameKey(channel)
	known, err := st.ChannelsNamed(ctx, key)
	if err != nil {
		return false, err
	}
	return known[key].TakeFee(a)
}
