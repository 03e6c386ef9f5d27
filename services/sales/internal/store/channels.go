package store

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store/storedb"
)

// LockOrMakeChannel reads the channel of a name, making it with an id where there is none, and keeps others from changing it until
// the transaction ends.
func (s Store) LockOrMakeChannel(ctx context.Context, made sales.Channel) (sales.Channel, error) {
	err := s.q.MakeChannel(ctx, storedb.MakeChannelParams{ID: made.ID, NameKey: made.Key, DisplayName: made.Name})
	if err != nil {
		return made, err
	}
	if err := s.q.LockChannelByKey(ctx, made.Key); err != nil {
		return made, err
	}
	return s.oneChannel(ctx, storedb.ListChannelsParams{Keys: []string{made.Key}})
}

// LockChannel reads a channel and keeps others from changing it until the transaction ends. Fault: CHANNEL_NOT_FOUND.
func (s Store) LockChannel(ctx context.Context, channel id.ID) (sales.Channel, error) {
	if err := s.q.LockChannel(ctx, channel); err != nil {
		return sales.Channel{}, err
	}
	return s.Channel(ctx, channel)
}

// Channel reads a channel. Fault: CHANNEL_NOT_FOUND.
func (s Store) Channel(ctx context.Context, channel id.ID) (sales.Channel, error) {
	return s.oneChannel(ctx, storedb.ListChannelsParams{Ids: []id.ID{channel}})
}

func (s Store) oneChannel(ctx context.Context, of storedb.ListChannelsParams) (sales.Channel, error) {
	of.ShowRetired, of.PageLimit = true, 1
	all, err := s.channels(ctx, of)
	if err != nil {
		return sales.Channel{}, err
	}
	if len(all) == 0 {
		return sales.Channel{}, sales.ErrNoChannel
	}
	return all[0], nil
}

// ChannelsNamed reads those of some channels, by their folded names, that somebody described, by that name.
func (s Store) ChannelsNamed(ctx context.Context, keys ...string) (map[string]sales.Channel, error) {
	all, err := s.channels(ctx, storedb.ListChannelsParams{Keys: keys, ShowRetired: true, PageLimit: int32(len(keys))})
	out := map[string]sales.Channel{}
	for _, c := range all {
		out[c.Key] = c
	}
	return out, err
}

// Channels reads up to limit channels after a folded name, by it.
func (s Store) Channels(ctx context.Context, after string, retired bool, limit int32) ([]sales.Channel, error) {
	return s.channels(ctx, storedb.ListChannelsParams{AfterKey: after, ShowRetired: retired, PageLimit: limit})
}

func (s Store) channels(ctx context.Context, of storedb.ListChannelsParams) (out []sales.Channel, err error) {
	if of.Ids == nil {
		of.Ids = []id.ID{} // null is no list to the database, and not an empty one
	}
	if of.Keys == nil {
		of.Keys = []string{}
	}
	rows, err := s.q.ListChannels(ctx, of)
	for _, row := range rows {
		if len(out) == 0 || out[len(out)-1].ID != row.ID {
			out = append(out, fromChannelRow(row))
		}
		if row.FromPrice != nil {
			fees := out[len(out)-1].Fees
			fees.Tiers = append(fees.Tiers, sales.Tier{From: money.Amount(*row.FromPrice), Percent: row.TierPercent.Decimal})
		}
	}
	return out, err
}

func fromChannelRow(row storedb.ListChannelsRow) sales.Channel {
	c := sales.Channel{ID: row.ID, Name: row.DisplayName, Key: row.NameKey, Kind: row.Kind, WebAddress: row.WebAddress, Retired: row.Retired, Version: row.Version}
	if row.HasFees {
		c.Fees = &sales.Fees{Percent: row.Percent, Fixed: money.Amount(row.Fixed), WholePrice: row.WholePrice,
			Minimum: money.Amount(row.Minimum), Most: (*money.Amount)(row.Most), WithTax: row.WithTax}
	}
	return c
}

// SaveChannel writes a channel that is there. Fault at commit: FEE_MINIMUM_ABOVE_MOST.
func (s Store) SaveChannel(ctx context.Context, c sales.Channel) error {
	fees, said := sales.Fees{}, c.Fees != nil
	if said {
		fees = *c.Fees
	}
	err := s.q.UpdateChannel(ctx, storedb.UpdateChannelParams{
		ID: c.ID, DisplayName: c.Name, Kind: c.Kind, WebAddress: c.WebAddress, Retired: c.Retired, HasFees: said, Percent: fees.Percent,
		Fixed: int64(fees.Fixed), WholePrice: fees.WholePrice, Minimum: int64(fees.Minimum), Most: (*int64)(fees.Most), WithTax: fees.WithTax, Version: c.Version})
	if err != nil {
		return err
	}
	if err := s.q.ForgetTiers(ctx, c.ID); err != nil {
		return err
	}
	for _, t := range fees.Tiers {
		if err := s.q.AddTier(ctx, storedb.AddTierParams{ChannelID: c.ID, FromPrice: int64(t.From), Percent: t.Percent}); err != nil {
			return err
		}
	}
	return nil
}
