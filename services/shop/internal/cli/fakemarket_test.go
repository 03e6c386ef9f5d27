package cli

import (
	"context"

	"google.golang.org/grpc"

	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// market is where a fake shop offers what it has.
type market struct {
	salesv1.UnimplementedChannelServiceServer
	salesv1.UnimplementedListingServiceServer
	salesv1.UnimplementedMarkdownServiceServer
	salesv1.UnimplementedHoldServiceServer
	salesv1.UnimplementedDepositServiceServer
	salesv1.UnimplementedOfferServiceServer
	keptBack
	f        *fake
	channels []*salesv1.Channel
	standing *salesv1.Listing
	plan     *salesv1.MarkdownPlan
	text     *salesv1.ListingText
	feed     []*salesv1.FeedItem
}

func (m *market) register(s grpc.ServiceRegistrar) {
	salesv1.RegisterChannelServiceServer(s, m)
	salesv1.RegisterListingServiceServer(s, m)
	salesv1.RegisterMarkdownServiceServer(s, m)
	salesv1.RegisterHoldServiceServer(s, m)
	salesv1.RegisterDepositServiceServer(s, m)
	salesv1.RegisterOfferServiceServer(s, m)
}

func (m *market) SetChannel(_ context.Context, r *salesv1.SetChannelRequest) (*salesv1.SetChannelResponse, error) {
	return note(m.f, r, &salesv1.SetChannelResponse{Channel: &salesv1.Channel{DisplayName: r.DisplayName, Kind: r.Kind, Fees: r.Fees, WebAddress: r.WebAddress}})
}

func (m *market) RetireChannel(_ context.Context, r *salesv1.RetireChannelRequest) (*salesv1.RetireChannelResponse, error) {
	return note(m.f, r, &salesv1.RetireChannelResponse{Channel: &salesv1.Channel{DisplayName: "Fair", Retired: true}})
}

func (m *market) ListChannels(_ context.Context, r *salesv1.ListChannelsRequest) (*salesv1.ListChannelsResponse, error) {
	return asked(m.f, r, &salesv1.ListChannelsResponse{Channels: m.channels})
}

func (m *market) WithdrawListing(_ context.Context, r *salesv1.WithdrawListingRequest) (*salesv1.WithdrawListingResponse, error) {
	return note(m.f, r, &salesv1.WithdrawListingResponse{Listing: m.standing})
}

func (m *market) ChangeListingChannels(_ context.Context, r *salesv1.ChangeListingChannelsRequest) (*salesv1.ChangeListingChannelsResponse, error) {
	return note(m.f, r, &salesv1.ChangeListingChannelsResponse{Listing: m.standing})
}

func (m *market) GetListingText(context.Context, *salesv1.GetListingTextRequest) (*salesv1.GetListingTextResponse, error) {
	return &salesv1.GetListingTextResponse{Text: m.text}, nil
}

func (m *market) ListFeed(_ context.Context, r *salesv1.ListFeedRequest) (*salesv1.ListFeedResponse, error) {
	return asked(m.f, r, &salesv1.ListFeedResponse{Items: m.feed})
}

func (m *market) SetMarkdownPlan(_ context.Context, r *salesv1.SetMarkdownPlanRequest) (*salesv1.SetMarkdownPlanResponse, error) {
	return note(m.f, r, &salesv1.SetMarkdownPlanResponse{Plan: m.plan})
}

func (m *market) TakeMarkdownAdvice(_ context.Context, r *salesv1.TakeMarkdownAdviceRequest) (*salesv1.TakeMarkdownAdviceResponse, error) {
	return note(m.f, r, &salesv1.TakeMarkdownAdviceResponse{Plan: m.plan, Listing: m.standing})
}

func (m *market) DropMarkdownPlan(_ context.Context, r *salesv1.DropMarkdownPlanRequest) (*salesv1.DropMarkdownPlanResponse, error) {
	return note(m.f, r, &salesv1.DropMarkdownPlanResponse{Plan: m.plan})
}

func (m *market) GetMarkdownPlan(context.Context, *salesv1.GetMarkdownPlanRequest) (*salesv1.GetMarkdownPlanResponse, error) {
	return &salesv1.GetMarkdownPlanResponse{Plan: m.plan}, nil
}

// offering puts something on the market.
func offering(f *fake) {
	f.market.channels = []*salesv1.Channel{{Name: "channels/1", DisplayName: "Fair", Kind: "weekly market", Fees: &salesv1.FeeSchedule{
		Percent: "10", Fixed: usd(30), Minimum: usd(5_00), Most: usd(40_00), Base: salesv1.FeeSchedule_BASE_WITHOUT_TAX}},
		{Name: "channels/2", DisplayName: "Window", Fees: &salesv1.FeeSchedule{Percent: "0", Fixed: usd(0), Minimum: usd(0)}}, {Name: "channels/3", DisplayName: "Cousin", Retired: true},
		{Name: "channels/4", DisplayName: "Web", Fees: &salesv1.FeeSchedule{Percent: "20", Tiers: []*salesv1.FeeSchedule_Tier{{From: usd(500_00), Percent: "8"}},
			TierRule: salesv1.FeeSchedule_TIER_RULE_WHOLE_PRICE, Base: salesv1.FeeSchedule_BASE_WITH_TAX}}}
	f.market.standing = &salesv1.Listing{Tag: 1, State: salesv1.Listing_STATE_LISTED, Channel: "Fair", OtherChannels: []string{"Web"}, AskingPrice: usd(300_00)}
	f.market.plan = &salesv1.MarkdownPlan{Piece: "pieces/a", State: salesv1.MarkdownPlan_STATE_RUNNING, Steps: []*salesv1.MarkdownPlan_Step{
		{Date: march(9), AskingPrice: usd(250_00), State: salesv1.MarkdownPlan_Step_STATE_NOT_LOWER, DoneTime: middayPlus(0)},
		{Date: march(16), AskingPrice: usd(210_00), State: salesv1.MarkdownPlan_Step_STATE_PLANNED}}}
	f.market.text = &salesv1.ListingText{Title: "Pine dresser", NotKnown: []string{"look", "coats"}, Lines: []*salesv1.ListingText_Line{
		{Text: "Kind: dresser.", Facts: []*salesv1.ListingText_Fact{{Source: salesv1.ListingText_Fact_SOURCE_INTAKE, What: "kind", Value: "dresser"}}}}}
	f.market.feed = []*salesv1.FeedItem{{Piece: "pieces/a", Tag: 1, Title: "=Pine dresser", Text: "Kind: dresser.", AskingPrice: usd(300_00), Channels: []string{"Fair", "Web"},
		Photos: []string{"photos/1"}, NotKnown: []string{"look"}}}
}
