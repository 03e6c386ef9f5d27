package cli

import (
	"strings"
	"testing"

	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func TestChannel(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	offering(f)
	f.gives(t, line("channel set Fair --kind 'weekly market' --percent 12.5% --fixed 0.30 --minimum 5 --most 40 --base without-tax --web https://fair.example"), &salesv1.SetChannelRequest{
		DisplayName: "Fair", Kind: "weekly market", WebAddress: "https://fair.example",
		Fees: &salesv1.FeeSchedule{Percent: "12.5", Fixed: usd(30), Minimum: usd(5_00), Most: usd(40_00), Base: salesv1.FeeSchedule_BASE_WITHOUT_TAX}})
	f.gives(t, line("channel set Web --percent 20 --tier 500=8 --tier 900=5% --tier-rule marginal --base with-tax"), &salesv1.SetChannelRequest{DisplayName: "Web",
		Fees: &salesv1.FeeSchedule{Percent: "20", Tiers: []*salesv1.FeeSchedule_Tier{{From: usd(500_00), Percent: "8"}, {From: usd(900_00), Percent: "5"}},
			TierRule: salesv1.FeeSchedule_TIER_RULE_MARGINAL, Base: salesv1.FeeSchedule_BASE_WITH_TAX}})
	f.gives(t, line("channel set Cousin"), &salesv1.SetChannelRequest{DisplayName: "Cousin"})
	f.gives(t, line("channel retire fair"), &salesv1.RetireChannelRequest{Name: "channels/1"})
	f.says(t, line("channel list --retired"), "Fair weekly market 10 %, and 0.30, at least 5.00, at most 40.00 – in use\n", "Window – nothing – in use\n", "Cousin – nobody said – retired\n",
		"Web – 20 %, 8 % from 500.00 on, of the whole price, with tax – in use\n")
	f.says(t, line("channel show window"), "Window – nothing")
	f.refuses(t, line("channel show Barn"), `nobody described a channel "Barn"; `+"`shop channel list --retired` lists them")
	f.refuses(t, line("channel set Web --tier 500"), `"500" is not of the form '500=8'`)
	f.refuses(t, line("channel set Web --percent 5 --base gross"), `--base: "gross" is none of: without-tax, with-tax`)
	f.refuses(t, line("channel set Web --tier 500=8 --tier-rule some"), `--tier-rule: "some" is none of: marginal, whole-price`)
}

func TestListing(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	offering(f)
	f.gives(t, line("listing channels 1 --add Web --add Window --remove Fair"), &salesv1.ChangeListingChannelsRequest{Piece: "pieces/a", Add: []string{"Web", "Window"}, Remove: []string{"Fair"}})
	f.says(t, line("listing channels 1 --add Web"), "Piece 1 is offered for 300.00 on Fair, Web.\n")
	f.market.standing = &salesv1.Listing{Tag: 1, State: salesv1.Listing_STATE_NOT_LISTED, WithdrawTime: stamp(t, "2026-03-02T14:00:00Z"), WithdrawReason: "a show."}
	f.gives(t, line("listing withdraw 1 --reason 'a show.'"), &salesv1.WithdrawListingRequest{Piece: "pieces/a", Reason: "a show."})
	f.says(t, line("listing withdraw 1 --reason x"), "Piece 1 was withdrawn 2026-03-02 08:00:00 CST: a show.\n")
	f.says(t, line("listing text 1"), "Pine dresser\n", "Kind: dresser. intake: kind\n", "Nobody noted: look, coats.\n")
	f.says(t, line("listing text 1 --json"), `"source": "SOURCE_INTAKE"`, `"notKnown": [`)
	f.says(t, line("listing feed"), "1 =Pine dresser 300.00 Fair, Web 1 look\n")
	f.says(t, line("listing feed --json --channel Web"), `"photos": [`)
}

func TestMarkdownPlan(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	offering(f)
	f.gives(t, line("listing plan set 1 2026-03-09=250 2026-03-16=210 --least 200"), &salesv1.SetMarkdownPlanRequest{Piece: "pieces/a", LeastPrice: usd(200_00),
		Steps: []*salesv1.MarkdownPlan_Step{{Date: march(9), AskingPrice: usd(250_00)}, {Date: march(16), AskingPrice: usd(210_00)}}})
	f.gives(t, line("listing plan take 1"), &salesv1.TakeMarkdownAdviceRequest{Piece: "pieces/a"})
	f.gives(t, line("listing plan drop 1 --reason 'it sells'"), &salesv1.DropMarkdownPlanRequest{Piece: "pieces/a", Reason: "it sells"})
	f.says(t, line("listing plan show 1"), "The markdown plan of piece 1: running.\n", "2026-03-09 250.00 not lower 2026-03-02", "2026-03-16 210.00 planned –\n")
	f.refuses(t, line("listing plan set 1 250"), `"250" is not of the form '2026-03-09=250'`)
	f.refuses(t, line("listing plan set 1 9.3.2026=250"), "9.3.2026")
}

// A fee that nobody typed is told with where it comes from.
func TestNoteFee(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.joint.sets = []*salesv1.Set{{Name: "sets/s", Channel: "Fair", Price: usd(300_00), Fee: usd(30_00), FeeFromChannel: true}}
	f.pieces = append(f.pieces, f.pieces[0])
	f.says(t, line("sale sell-set 1,1 300"), "The fee, 30.00, follows from what Fair keeps.\n")
	f.joint.sets[0].FeeFromChannel = false
	if code, out, errs := f.run(t, line("sale sell-set 1,1 300")...); code != 0 || strings.Contains(out, "follows from") {
		t.Errorf("a fee that was said: %d, %s%s", code, out, errs)
	}
}
