package server_test

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func cents(n int64) *money.Money {
	return &money.Money{CurrencyCode: "USD", Units: n / 100, Nanos: int32(n % 100 * 10_000_000)}
}

// stall keeps a tenth and 30 cents, at least 5 and at most 40.
func stall() *salesv1.SetChannelRequest {
	return &salesv1.SetChannelRequest{RequestId: svctest.NewID(), DisplayName: "Market stall", Kind: "weekly market", WebAddress: "https://market.example/stall",
		Fees: &salesv1.FeeSchedule{Percent: "10", Fixed: cents(30), Minimum: usd(5), Most: usd(40), Base: salesv1.FeeSchedule_BASE_WITHOUT_TAX}}
}

// tiered keeps a fifth of what lies below 500 and a tenth of what lies above.
func tiered() *salesv1.FeeSchedule {
	return &salesv1.FeeSchedule{Percent: "20", Tiers: []*salesv1.FeeSchedule_Tier{{From: usd(500), Percent: "10"}},
		TierRule: salesv1.FeeSchedule_TIER_RULE_MARGINAL, Base: salesv1.FeeSchedule_BASE_WITH_TAX}
}

func (b *bundle) channel(t *testing.T, r *salesv1.SetChannelRequest) *salesv1.Channel {
	t.Helper()
	resp, err := b.SetChannel(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Channel
}

func TestServer_SetChannel(t *testing.T) {
	b := setup(t)
	r := stall()
	made := b.channel(t, r)
	want := &salesv1.Channel{Name: made.Name, DisplayName: "Market stall", Kind: "weekly market", WebAddress: r.WebAddress, Fees: r.Fees, Etag: `"1"`}
	differ(t, "SetChannel", want, made)
	e := b.Last(t)
	differ(t, "event", &eventsv1.ChannelSet{DisplayName: "Market stall", Kind: "weekly market", WebAddress: r.WebAddress,
		Fees: &eventsv1.ChannelSet_Fees{Percent: "10", Fixed: cents(30), Minimum: usd(5), Most: usd(40)}}, e.GetChannelSet())
	if e.AggregateKind != "channel" || e.Version != 1 || e.PieceId != "" {
		t.Errorf("envelope %v", e)
	}
	differ(t, "asked again", made, b.channel(t, r))

	anew := &salesv1.SetChannelRequest{RequestId: svctest.NewID(), DisplayName: "MARKET  stall", Fees: tiered(), Etag: made.Etag}
	changed := b.channel(t, anew)
	want = &salesv1.Channel{Name: made.Name, DisplayName: "MARKET stall", Fees: tiered(), Etag: `"2"`}
	want.Fees.Fixed, want.Fees.Minimum = usd(0), usd(0)
	differ(t, "said anew", want, changed)
	got, err := b.GetChannel(t.Context(), &salesv1.GetChannelRequest{Name: made.Name})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "GetChannel", want, got.Channel)
}

func TestServer_SetChannel_Refuses(t *testing.T) {
	b := setup(t)
	b.channel(t, stall())
	for name, c := range map[string]struct {
		change        func(*salesv1.SetChannelRequest)
		kind          fault.Kind
		reason, field string
	}{
		"NoName":           {func(r *salesv1.SetChannelRequest) { r.DisplayName = " " }, fault.Invalid, "INVALID_FIELD", "display_name"},
		"NegativePercent":  {func(r *salesv1.SetChannelRequest) { r.Fees.Percent = "-1" }, fault.Invalid, "FEE_PERCENT_OUT_OF_RANGE", "fees.percent"},
		"AboveHundred":     {func(r *salesv1.SetChannelRequest) { r.Fees.Percent = "100.5" }, fault.Invalid, "FEE_PERCENT_OUT_OF_RANGE", "fees.percent"},
		"NotANumber":       {func(r *salesv1.SetChannelRequest) { r.Fees.Percent = "ten" }, fault.Invalid, "FEE_PERCENT_MALFORMED", "fees.percent"},
		"Exponent":         {func(r *salesv1.SetChannelRequest) { r.Fees.Percent = "1e9" }, fault.Invalid, "FEE_PERCENT_MALFORMED", "fees.percent"},
		"NegativeFixed":    {func(r *salesv1.SetChannelRequest) { r.Fees.Fixed = usd(-1) }, fault.Invalid, "AMOUNT_NEGATIVE", "fees.fixed"},
		"OtherCurrency":    {func(r *salesv1.SetChannelRequest) { r.Fees.Most = &money.Money{CurrencyCode: "EUR", Units: 40} }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "fees.most"},
		"NoBase":           {func(r *salesv1.SetChannelRequest) { r.Fees.Base = 0 }, fault.Invalid, "FEE_BASE_MISSING", "fees.base"},
		"NoTierRule":       {func(r *salesv1.SetChannelRequest) { r.Fees = tiered(); r.Fees.TierRule = 0 }, fault.Invalid, "TIER_RULE_MISSING", "fees.tier_rule"},
		"MinimumAboveMost": {func(r *salesv1.SetChannelRequest) { r.Fees.Minimum = usd(41) }, fault.Invalid, "FEE_MINIMUM_ABOVE_MOST", "fees.minimum"},
		"TiersOutOfOrder": {func(r *salesv1.SetChannelRequest) {
			r.Fees = tiered()
			r.Fees.Tiers = append(r.Fees.Tiers, &salesv1.FeeSchedule_Tier{From: usd(400), Percent: "5"})
		}, fault.Invalid, "TIERS_OUT_OF_ORDER", "fees.tiers[1].from"},
		"TierOtherCurrency": {func(r *salesv1.SetChannelRequest) {
			r.Fees = tiered()
			r.Fees.Tiers[0].From = &money.Money{CurrencyCode: "EUR", Units: 500}
		}, fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "fees.tiers[0].from"},
		"NoWebAddress": {func(r *salesv1.SetChannelRequest) { r.WebAddress = "javascript:alert(1)" }, fault.Invalid, "WEB_ADDRESS_MALFORMED", "web_address"},
		"Stale":        {func(r *salesv1.SetChannelRequest) { r.Etag = `"7"` }, fault.Conflict, "ETAG_MISMATCH", ""},
	} {
		t.Run(name, func(t *testing.T) {
			r := stall()
			c.change(r)
			f := svctest.Refused(t, b.Service, b.SetChannel, r, c.kind, c.reason)
			if c.field != "" {
				fields(t, f, c.field)
			}
		})
	}
	svctest.Refused(t, b.Service, b.GetChannel, &salesv1.GetChannelRequest{Name: id.Name("channels", id.New())}, fault.NotFound, "CHANNEL_NOT_FOUND")
	fresh := stall()
	fresh.DisplayName, fresh.Fees.Percent = "Nowhere yet", "101"
	svctest.Refused(t, b.Service, b.SetChannel, fresh, fault.Invalid, "FEE_PERCENT_OUT_OF_RANGE") // and no channel was made
}

func TestServer_RetireChannel(t *testing.T) {
	b := setup(t)
	made, piece := b.channel(t, stall()), b.piece()
	b.list(t, piece)
	retired, err := b.RetireChannel(svctest.Ctx(t), &salesv1.RetireChannelRequest{RequestId: svctest.NewID(), Name: made.Name, Etag: made.Etag})
	if err != nil || !retired.Channel.Retired {
		t.Fatalf("RetireChannel = %v, %v", retired, err)
	}
	differ(t, "event", &eventsv1.ChannelRetired{DisplayName: "Market stall"}, b.Last(t).GetChannelRetired())
	svctest.Refused(t, b.Service, b.RetireChannel, &salesv1.RetireChannelRequest{RequestId: svctest.NewID(), Name: made.Name}, fault.Precondition, "CHANNEL_RETIRED")
	svctest.Refused(t, b.Service, b.CreateListing, list(b.piece()), fault.Precondition, "CHANNEL_RETIRED")
	also := list(b.piece())
	also.Channel, also.OtherChannels = "window", []string{"market STALL"}
	svctest.Refused(t, b.Service, b.CreateListing, also, fault.Precondition, "CHANNEL_RETIRED")

	r := sell(piece) // what stands there is sold by its fees
	r.Fee = nil
	if sold, err := b.SellPiece(svctest.Ctx(t), r); err != nil || !sold.Sale.FeeFromChannel {
		t.Errorf("sold on a retired channel: %v, %v", sold, err)
	}
	if shown, err := b.ListChannels(t.Context(), &salesv1.ListChannelsRequest{}); err != nil || len(shown.Channels) != 0 {
		t.Errorf("ListChannels = %v, %v, want none", shown, err)
	}
	b.channel(t, stall()) // taken up again
	b.list(t, b.piece())
}

func TestServer_ListChannels(t *testing.T) {
	b := setup(t)
	for _, name := range []string{"Web", "fair", "Market stall"} {
		r := stall()
		r.DisplayName, r.Fees = name, tiered()
		b.channel(t, r)
	}
	var got []string
	r := &salesv1.ListChannelsRequest{PageSize: 2}
	for pages := 0; pages == 0 || r.PageToken != ""; pages++ {
		page, err := b.ListChannels(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range page.Channels {
			got = append(got, c.DisplayName)
			if len(c.Fees.GetTiers()) != 1 {
				t.Errorf("%s has tiers %v", c.DisplayName, c.Fees.GetTiers())
			}
		}
		r.PageToken = page.NextPageToken
	}
	if want := []string{"fair", "Market stall", "Web"}; len(got) != 3 || got[0] != want[0] || got[1] != want[1] || got[2] != want[2] {
		t.Errorf("ListChannels = %q, want %q", got, want)
	}
	svctest.Refused(t, b.Service, b.ListChannels, &salesv1.ListChannelsRequest{PageToken: "zz"}, fault.Invalid, "INVALID_PAGE_TOKEN")
}
