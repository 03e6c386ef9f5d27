package cli

import (
	"strings"
	"testing"

	datev1 "google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func moneyRange(low, likely, high int64) *intakev1.MoneyRange {
	return &intakev1.MoneyRange{Low: usd(low), Likely: usd(likely), High: usd(high)}
}

// buying has the fake advise on a dresser that is worth less than is asked, with prospect 7 open and
// 6 declined.
func buying(f *fake) *fake {
	b := f.buyer
	b.advice = &intakev1.Advice{Verdict: intakev1.Advice_VERDICT_ONLY_IF, MostToPay: usd(45_00), TargetPerHour: usd(25_00), Chance: 0.8, ChanceAtAsking: 0.624, ChanceOfLoss: 0.001,
		Conditions: []*intakev1.Advice_Condition{{Kind: intakev1.Advice_Condition_KIND_PAY_AT_MOST, Money: usd(45_00)}, {Kind: intakev1.Advice_Condition_KIND_SELLS_FOR, Money: usd(320_00)},
			{Kind: intakev1.Advice_Condition_KIND_HOURS_AT_MOST, Number: 6.54}, {Kind: intakev1.Advice_Condition_KIND_LEAD_TEST}, {Kind: intakev1.Advice_Condition_KIND_PRICE_LOOKED_UP}},
		SalePrice: moneyRange(220_00, 300_00, 410_00), Hours: &intakev1.NumberRange{Low: 5, Likely: 6.5, High: 9.04}, Material: moneyRange(20_00, 26_00, 33_00),
		DaysToSell: &intakev1.NumberRange{Low: 3, Likely: 21, High: 90}, DaysOfWork: 9, Profit: moneyRange(-12_00, 90_00, 190_00), ProfitPerHour: moneyRange(-1_50, 13_80, 31_00),
		Drivers: []*intakev1.Advice_Driver{{What: intakev1.Advice_Driver_WHAT_SALE_PRICE, MostIfLow: usd(-10_00), MostIfHigh: usd(140_00), Share: 0.7}},
		Costs:   []*intakev1.Advice_Cost{{What: intakev1.Advice_Cost_WHAT_TARGET, Amount: usd(162_50)}},
		Basis: &intakev1.Advice_Basis{Sales: 23, SalesOfKind: 4, Belief: 0.4, TooFew: true, HoursUsual: 1, FloorSaidOf: typev1.PieceSize_PIECE_SIZE_MEDIUM, Unpriced: []string{"wiping stain (usual)"},
			Likes: []*intakev1.Advice_Like{{Tag: 3, Title: "Oak dresser", Price: usd(340_00), Days: 1}}},
		Hazards: []*intakev1.Advice_Hazard{{Id: "lead", Says: "The old coating is presumed to hold lead."}}}
	s := &intakev1.Sighting{Kind: "dresser", Size: typev1.PieceSize_PIECE_SIZE_MEDIUM, Material: "solid wood", Species: "pine", OldFinish: "unknown", Look: "paint",
		AskingPrice: usd(60_00), Source: "barn sale", Defects: []string{"loose joint"}, Note: "ask for Maud"}
	b.prospects = []*intakev1.Prospect{
		{Name: "prospects/p", Number: 7, Sighting: s, Advice: b.advice, State: intakev1.Prospect_STATE_OPEN, SeenTime: middayPlus(0)},
		{Name: "prospects/o", Number: 6, Sighting: &intakev1.Sighting{Title: "Walnut desk", Kind: "desk", AskingPrice: usd(90_00)}, State: intakev1.Prospect_STATE_DECLINED,
			DeclineReason: "too wide for the van", Advice: &intakev1.Advice{Verdict: intakev1.Advice_VERDICT_NO, MostToPay: usd(-5_00)}, SeenTime: middayPlus(-60)}}
	b.buying = &intakev1.BuyingTerms{TargetPerHour: usd(25_00), Chance: 0.8, LabourPerHour: usd(22_50), TravelPerKm: usd(40), KmPerHour: 50, HandlingMinutes: proto.Int32(45), Etag: `"3"`}
	b.selling = &salesv1.SellingTerms{Beliefs: []*salesv1.SellingTerms_Belief{{Kind: "dresser", Price: &salesv1.Guess{Low: usd(200_00), High: usd(420_00)}, DaysLikely: 30}},
		HoldingSmall: usd(20), HoldingMedium: usd(50), HoldingLarge: usd(1_00), FeePercent: 12.5, DaysBetweenMarkdowns: proto.Int32(14), MostMarkdowns: proto.Int32(3), HorizonDays: proto.Int32(180), SalvagePercent: proto.Float64(40), Etag: `"2"`}
	b.prices = priceAdvice()
	return f
}

const seenLine = "--kind dresser --size medium --material 'solid wood' --species pine --look paint --old-finish unknown --defect 'loose joint' --defect 'veneer chip' " +
	"--asking 60 --distance 10mi --source 'barn sale' --extra 12.50 --sells-low 200 --sells-high 400 --channel online --part case:1:1.2mx50cm"

func sighted() *intakev1.Sighting {
	return &intakev1.Sighting{Kind: "dresser", Size: typev1.PieceSize_PIECE_SIZE_MEDIUM, Material: "solid wood", Species: "pine", Look: "paint", OldFinish: "unknown",
		Defects: []string{"loose joint", "veneer chip"}, AskingPrice: usd(60_00), DistanceKm: 16.09344, Source: "barn sale", ExtraCost: usd(12_50),
		SellsLow: usd(200_00), SellsHigh: usd(400_00), Channel: "online", Parts: []*intakev1.Part{{Label: "case", Count: 1, Length: amount("1.2", "m"), Width: amount("50", "cm")}}}
}

func TestProspect_Advise(t *testing.T) {
	t.Parallel()
	f := buying(newFake(t))
	f.asksFor(t, line("prospect advise --target 30 --chance 75% "+seenLine), &intakev1.AdvisePurchaseRequest{Sighting: sighted(), TargetPerHour: usd(30_00), Chance: 0.75})
	out := f.says(t, line("prospect advise "+seenLine), "Only if one of these holds; 60.00 is asked, and it is worth up to 45.00:", "- it is had for at most 45.00", "- it is sure to sell for at least 320.00",
		"- it is sure to take at most 6.5 hours", "- in any case: it is tested for lead before", "- in any case: look up", "At 60.00 the target of 25.00 an hour is reached with a chance of 62 % (80 % is wanted); money is lost with under 1 %.",
		"The work takes 9 days at the least.", "sells for 220.00 300.00 410.00", "profit an hour -1.50 13.80 31.00", "hours of work 5 6.5 9", "days until it is sold 3 21 90",
		"the price it brings -10.00 140.00 70 %", "what the hours are to earn 162.50", "goes by 23 sales, 4 of the kind; 40 % of it is belief", "too few to rely on", "What its floor costs follows from that of a medium piece", "Of the hours 100 % go by what is usual",
		"usually have them", "Not counted, for nobody said what it costs: wiping stain (usual).", "Like it: 3 Oak dresser, sold for 340.00 after a day.", "lead: The old coating is presumed to hold lead.")
	if rest := out[strings.Index(out, "Beware:"):]; strings.Contains(rest, "Like it") || strings.Index(out, "Beware:") < strings.Index(out, "Like it") {
		t.Errorf("the cautions do not stand below the advice:\n%s", out)
	}
	f.buyer.advice = &intakev1.Advice{Verdict: intakev1.Advice_VERDICT_YES, MostToPay: usd(120_00), ChanceAtAsking: 0.999, Chance: 0.8, TargetPerHour: usd(25_00)}
	f.says(t, line("prospect advise "+seenLine), "Yes: 60.00 is asked, and it is worth up to 120.00.", "with a chance of over 99 %")
	f.buyer.advice = &intakev1.Advice{Verdict: intakev1.Advice_VERDICT_NO, MostToPay: usd(-20_00)}
	f.says(t, line("prospect advise "+seenLine), "No: even as a gift it has no chance to reach")
	f.buyer.advice = &intakev1.Advice{Verdict: intakev1.Advice_VERDICT_NO, MostToPay: usd(-20_00), TargetPerHour: usd(12_00), Chance: 0.8, ChanceAsGift: 0.669, ChanceAtAsking: 0.3,
		Conditions: []*intakev1.Advice_Condition{{Kind: intakev1.Advice_Condition_KIND_HOURS_AT_MOST, Number: 5.5}, {Kind: intakev1.Advice_Condition_KIND_PER_HOUR_AT_MOST, Money: usd(9_70)}},
		Material:   &intakev1.MoneyRange{Low: usd(0), Likely: usd(0), High: usd(0)}, Basis: &intakev1.Advice_Basis{Unpriced: []string{"wiping stain (usual)"}},
		Drivers: []*intakev1.Advice_Driver{{What: intakev1.Advice_Driver_WHAT_HOURS, GiftChanceIfLow: 0.88, GiftChanceIfHigh: 0.41, Share: 0.5}}}
	f.says(t, line("prospect advise "+seenLine), "No: even as a gift it has 66 of 100 chances to reach 12.00 an hour; you want 80. As a gift it would do if one of these holds:",
		"- it is sure to take at most 5.5 hours", "- an hour need earn no more than 9.70", "chance as a gift if low", "the hours 88 % 41 % 50 %", "material not known not known not known",
		"What the material costs is not known, and the answer leaves it out")
}

func TestProspect_Advise_Refuses(t *testing.T) {
	t.Parallel()
	f := buying(newFake(t))
	for more, want := range map[string]string{
		"--chance 0.8": "in percent", "--chance 100": "in percent", "--chance much": "in percent", "--distance far": "not a distance", "--distance=-3km": "not a distance",
		"--target lots": "lots", "--size huge": "--size must be one of", "--material straw": "--material must be one of", "--part top:0": "not a number of alike parts",
	} {
		f.refuses(t, line("prospect advise --kind dresser --size medium --material veneer --look paint --asking 60 "+more), want)
	}
	f.refuses(t, line("prospect advise --kind dresser --size medium --material veneer --look paint --asking 60 --sells-low 200"), "say both --sells-low and --sells-high")
	f.refuses(t, line("prospect advise --kind dresser --size medium --material veneer --look paint"), "missing flags: --asking")
	_, out, _ := run(t, "prospect", "advise", "--help")
	if text := strings.Join(strings.Fields(out), " "); !strings.Contains(text, "shop prospect advise --kind dresser --size medium") {
		t.Errorf("the help gives no example:\n%s", out)
	}
}

func TestProspect_Kept(t *testing.T) {
	t.Parallel()
	f := buying(newFake(t))
	kept := sighted()
	kept.Title, kept.Note = "Pine dresser", "ask for Maud"
	f.gives(t, line("prospect add --title 'Pine dresser' --note 'ask for Maud' --at 2026-03-02T12:00:00-06:00 "+seenLine), &intakev1.AddProspectRequest{Sighting: kept, SeenTime: middayPlus(0)})
	f.says(t, line("prospect add --title 'Pine dresser' "+seenLine), "Prospect 8 is kept: Pine dresser.", "it is worth up to 45.00")
	out := f.says(t, line("prospect list"), "7 2026-03-02 12:00:00 CST dresser barn sale 60.00 45.00 only if open", "6 2026-03-02 11:00:00 CST Walnut desk 90.00 0.00 no declined: too wide for the van")
	if strings.Index(out, "Walnut") < strings.Index(out, "barn") {
		t.Errorf("the latest does not come first:\n%s", out)
	}
	if out := f.says(t, line("prospect list --state declined")); strings.Contains(out, "barn sale") {
		t.Errorf("what is open is listed as declined:\n%s", out)
	}
	f.refuses(t, line("prospect list --state lost"), "none of: open, bought, declined")
	f.says(t, line("prospect show 7"), "Prospect 7: dresser, seen 2026-03-02 12:00:00 CST, open", "what medium solid wood pine dresser", "old coating unknown, nobody knows from when", "defects loose joint", "note ask for Maud", "What was advised then:", "worth up to 45.00")
	f.refuses(t, line("prospect show 99"), "there is no prospect 99; `shop prospect list` lists them")
}

// A piece that was seen before it was bought says so, with what was ticked and advised, but not to who does not buy.
func TestPiece_ShowsWhatWasSeenBefore(t *testing.T) {
	t.Parallel()
	f := buying(newFake(t))
	if out := f.says(t, line("piece show 1"), "1  Pine dresser"); strings.Contains(out, "Seen before") {
		t.Errorf("of a piece that nobody saw:\n%s", out)
	}
	f.pieces[0].Prospect = "prospects/p"
	f.says(t, line("piece show 1"), "Seen before it was bought, as prospect 7: loose joint, old coating: unknown, nobody knows from when, to become: paint.",
		"Advised then: 6.5 hours (5 to 9), sells for 300.00, most to pay 45.00.")
	f.pieces[0].Prospect = "prospects/not-mine"
	if out := f.says(t, line("piece show 1"), "1  Pine dresser"); strings.Contains(out, "Seen before") {
		t.Errorf("to who may not ask:\n%s", out)
	}
}

func TestProspect_BoughtOrNot(t *testing.T) {
	t.Parallel()
	f := buying(newFake(t))
	f.gives(t, line("prospect buy 7 42.50 --tag 14 --source 'barn sale' --date 2026-03-02 --part top:1 --at 2026-03-02T12:00:00-06:00"), &intakev1.BuyProspectRequest{Prospect: "prospects/p", Price: usd(42_50),
		Tag: 14, Source: "barn sale", Date: &datev1.Date{Year: 2026, Month: 3, Day: 2}, Parts: []*intakev1.Part{{Label: "top", Count: 1}}, TakenInTime: middayPlus(0)})
	f.says(t, line("prospect buy 7 42.50"), "Prospect 7 is bought for 42.50 and is piece 14: Pine dresser.")
	f.gives(t, line("prospect decline 7 --reason 'it smells'"), &intakev1.DeclineProspectRequest{Prospect: "prospects/p", Reason: "it smells"})
	f.refuses(t, line("prospect decline 7"), "missing flags: --reason")
	f.fails = fault.New(fault.Precondition, "PROSPECT_CLOSED", "Prospect 7 is closed.")
	if code, _, errs := f.run(t, line("prospect buy 7 42.50")...); code == 0 || !strings.Contains(errs, "Prospect 7 is closed. (PROSPECT_CLOSED)") {
		t.Errorf("a closed one: exits %d, %s", code, errs)
	}
}

// What no flag names stays, and the same line given again says the same.
func TestProspect_Terms(t *testing.T) {
	t.Parallel()
	f := buying(newFake(t))
	f.says(t, line("prospect terms"), "Each hour is to leave 25.00 when all is paid, with a chance of 80 %.", "An hour of labour costs 22.50. The way costs 0.40 a kilometre at 50 km an hour; to look, load and unload takes 45 minutes.")
	if n := len(f.commands()); n != 0 {
		t.Errorf("to show them gives %d commands", n)
	}
	want := proto.CloneOf(f.buyer.buying)
	want.TargetPerHour, want.Chance, want.HandlingMinutes = usd(30_00), 0.9, proto.Int32(30)
	f.gives(t, line("prospect terms --target 30 --chance 90 --handling 30"), &intakev1.SetBuyingTermsRequest{Terms: want, Etag: `"3"`})
	want = proto.CloneOf(f.buyer.buying)
	want.LabourPerHour, want.TravelPerKm, want.KmPerHour = usd(20_00), &moneyv1.Money{CurrencyCode: "USD"}, 35
	f.gives(t, line("prospect terms --labour 20 --travel 0 --speed 35"), &intakev1.SetBuyingTermsRequest{Terms: want, Etag: `"3"`})
	f.refuses(t, line("prospect terms --chance 0.9"), "in percent")
	f.buyer.buying = &intakev1.BuyingTerms{TargetPerHour: usd(0)}
	f.says(t, line("prospect terms"), "Nobody has said what an hour is to earn; say it with --target.")
}
