package cli

import (
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// course is a chance that grows by a hundredth a day.
func course(days int32, per float64) (all []*salesv1.SoldBy) {
	for d := range days {
		all = append(all, &salesv1.SoldBy{Day: d, Share: per * float64(d)})
	}
	return all
}

func priceAdvice() *salesv1.AdvisePriceResponse {
	return &salesv1.AdvisePriceResponse{
		Forecast: &salesv1.SaleForecast{PriceLow: usd(220_00), PriceLikely: usd(300_00), PriceHigh: usd(410_00), Basis: &salesv1.Basis{Sales: 23, SalesOfKind: 4, Listings: 31, Belief: 0.4, TooFew: true,
			Effects:  []*salesv1.Basis_Effect{{Trait: salesv1.Basis_Effect_TRAIT_LOOK, Word: "paint", Factor: 0.9, Low: 0.82, High: 0.99, Sales: 6}, {Trait: salesv1.Basis_Effect_TRAIT_SEASON, Word: "july", Factor: 1.1, Low: 1, High: 1.2, Sales: 3}},
			Examples: []*salesv1.Basis_Example{{Tag: 3, Title: "Oak dresser", Price: usd(340_00), Days: 12}}}},
		Ways: []*salesv1.AdvisePriceResponse_Way{
			{Kind: salesv1.AdvisePriceResponse_Way_KIND_ADVISED, Steps: []*salesv1.AdvisePriceResponse_Step{{AskingPrice: usd(360_00)}, {Day: 21, AskingPrice: usd(320_00)}, {Day: 45, AskingPrice: usd(280_00)}},
				Expected: usd(268_40), Days: 38.25, Sold: 0.97, SoldBy: course(101, 0.0099)},
			{Kind: salesv1.AdvisePriceResponse_Way_KIND_TRIED, Beyond: true, Steps: []*salesv1.AdvisePriceResponse_Step{{AskingPrice: usd(450_00)}}, Expected: usd(231_00), Days: 90, Sold: 0.5, SoldBy: course(101, 0.005)}},
		HoldingPerDay: usd(50), Salvage: usd(120_00), FeePercent: 12.5, HorizonDays: 100, AskingPrice: usd(390_00), DaysListed: 1,
		Highest: usd(430_00), HoldingSaidOf: typev1.PieceSize_PIECE_SIZE_MEDIUM, SeenListings: 9,
		Seen: []*salesv1.AdvisePriceResponse_Seen{{Day: 4, Share: 0.2, Standing: 9, Sold: 2}, {Day: 11, Share: 0.5, Standing: 6, Sold: 2}, {Day: 40, Share: 0.8, Standing: 3, Sold: 1}},
	}
}

func TestSale_Advise(t *testing.T) {
	t.Parallel()
	f := buying(newFake(t))
	f.asksFor(t, line("sale advise 1 --trying 450 --channel online --sells-low 200 --sells-high 400"), &salesv1.AdvisePriceRequest{Piece: "pieces/a", Channel: "online", Trying: usd(450_00), Guess: &salesv1.Guess{Low: usd(200_00), High: usd(400_00)}})
	f.asksFor(t, line("sale advise 1"), &salesv1.AdvisePriceRequest{Piece: "pieces/a"})
	f.says(t, line("sale advise 1"), "1 Pine dresser. 390.00 is asked now, listed for a day.", "It will bring 300.00, eight times in ten from 220.00 to 410.00.",
		"advised 360.00 268.40 38.2 97 % day 21: 320.00, day 45: 280.00", "as you try 450.00 ? 231.00 90 50 %", "No more than 430.00 is advised", "marked with ?", "after the channel's 12.5 % and its floor at 0.50 a day (as follows from that of a medium piece); after 100 days it goes for 120.00.",
		"Goes by 23 sales, 4 of the kind, and by 31 listings for the days; 40 % of the price is belief.", "too few to rely on", "look paint 0.90 0.82 0.99 6", "season July to September 1.10 1.00 1.20 3", "Seen here, of 9 times that such a kind was put up, whatever was asked: sold 50 % by day 11 (6 stood until then), 80 % by day 40 (3 stood until then).", "Like it: 3 Oak dresser, sold for 340.00 after 12 days.")
	f.buyer.prices.Forecast.Basis.Said = &salesv1.Basis_Said{When: salesv1.Basis_Said_WHEN_SEEN, Guess: &salesv1.Guess{Low: usd(320_00), High: usd(560_00)}, SeenTime: timestamppb.New(time.Date(2026, 3, 3, 12, 0, 0, 0, time.UTC))}
	f.says(t, line("sale advise 1"), "40 % of the price is belief.", "You believed 320.00 to 560.00 on 2026-03-03, when you saw it and had not bought it yet.")
	f.buyer.prices.Forecast.Basis.Said.When = salesv1.Basis_Said_WHEN_TERMS
	f.says(t, line("sale advise 1"), "You believe 320.00 to 560.00 of such a kind, by the selling terms.")
	f.buyer.prices.Forecast.Basis.Said.When = salesv1.Basis_Said_WHEN_ASKING
	f.says(t, line("sale advise 1"), "You believe 320.00 to 560.00, as you say here.")
	f.refuses(t, line("sale advise 1 --sells-low 200"), "say both")
	f.refuses(t, line("sale advise 1 --trying lots"), "lots")
	f.refuses(t, line("sale advise 77"), "There is no such piece")
	f.buyer.prices.AskingPrice = nil
	f.says(t, line("sale advise 1"), "1 Pine dresser. It is not listed.")
}

// The chart has a row for some of the days, the first and the last too, with bars as long as the chance.
func TestSale_Advise_Chart(t *testing.T) {
	t.Parallel()
	f := buying(newFake(t))
	out := f.says(t, line("sale advise 1"), "Sold by the end of the day, advised (on the right: as you try):")
	var rows []string
	for _, l := range strings.Split(out, "\n") {
		if strings.HasPrefix(l, "  day ") {
			rows = append(rows, l)
		}
	}
	if len(rows) != courseRows || !strings.Contains(rows[0], "day   0") || !strings.Contains(rows[11], "day 100") {
		t.Fatalf("rows:\n%s", strings.Join(rows, "\n"))
	}
	before := -1
	for _, r := range rows {
		if n := strings.Count(r, "█"); n < before || n > courseWide {
			t.Errorf("a bar of %d after one of %d", n, before)
		} else {
			before = n
		}
	}
	if before != 40 || !strings.Contains(rows[11], "99 %") || !strings.HasSuffix(rows[11], " 50 %") { // 99 of a hundred, in fortieths
		t.Errorf("the last row is %q", rows[11])
	}
	f.buyer.prices.Ways = f.buyer.prices.Ways[:1]
	f.buyer.prices.Ways[0].SoldBy = course(2, 0.5)
	if out := f.says(t, line("sale advise 1")); strings.Count(out, "\n  day ") != 2 || strings.Contains(out, "on the right") {
		t.Errorf("of two days:\n%s", out)
	}
	f.buyer.prices.Ways[0].SoldBy = nil
	if out := f.says(t, line("sale advise 1")); strings.Contains(out, "Sold by") {
		t.Errorf("of no day:\n%s", out)
	}
}

func TestSale_Terms(t *testing.T) {
	t.Parallel()
	f := buying(newFake(t))
	f.says(t, line("sale terms"), "A day of floor costs 0.20, 0.50 or 1.00 of a small, medium or large piece. A channel keeps 12.5 %.", "Markdowns: at most 3, 14 days apart. After 180 days a piece goes for 40 % of its likely price.",
		"dresser 200.00 420.00 30 days")
	if n := len(f.commands()); n != 0 {
		t.Errorf("to show them gives %d commands", n)
	}
	want := proto.CloneOf(f.buyer.selling)
	want.Beliefs = []*salesv1.SellingTerms_Belief{{Kind: "Dresser", Price: &salesv1.Guess{Low: usd(250_00), High: usd(450_00)}},
		{Kind: "oak table", Price: &salesv1.Guess{Low: usd(300_00), High: usd(700_50)}, DaysLikely: 45}}
	f.gives(t, line("sale terms --believe 'Dresser=250..450' --believe 'oak table=300..700.50:45'"), &salesv1.SetSellingTermsRequest{Terms: want, Etag: `"2"`})
	want = proto.CloneOf(f.buyer.selling)
	want.Beliefs, want.HoldingLarge, want.FeePercent, want.MostMarkdowns, want.DaysBetweenMarkdowns, want.HorizonDays, want.SalvagePercent = nil, usd(1_50), 0, proto.Int32(2), proto.Int32(10), proto.Int32(90), proto.Float64(30)
	f.gives(t, line("sale terms --forget DRESSER --holding-large 1.50 --fee 0 --markdowns 2 --between 10 --horizon 90 --salvage 30"), &salesv1.SetSellingTermsRequest{Terms: want, Etag: `"2"`})
	for text, want := range map[string]string{"dresser": "dresser=200..420", "dresser=200": "dresser=200..420", "dresser=..200": "dresser=200..420", "dresser=a..b": "a", "dresser=1..2:0": "not a number of days", "dresser=1..2:soon": "not a number of days"} {
		f.refuses(t, append(line("sale terms --believe"), text), want)
	}
	want = proto.CloneOf(f.buyer.selling)
	want.MostMarkdowns, want.SalvagePercent = proto.Int32(0), proto.Float64(0)
	f.gives(t, line("sale terms --markdowns 0 --salvage 0"), &salesv1.SetSellingTermsRequest{Terms: want, Etag: `"2"`})
	f.buyer.selling = &salesv1.SellingTerms{HoldingMedium: usd(40), MostMarkdowns: proto.Int32(0)}
	f.says(t, line("sale terms"), "No markdowns: a piece stays at its first price. After 180 days", "Nobody said --holding-small, --holding-large, --between, --horizon, --salvage: what stands there is usual")
	f.buyer.selling = &salesv1.SellingTerms{}
	f.says(t, line("sale terms"), "Nothing is believed of any kind yet; say it with --believe.")
}

// Terms that somebody else changed between the look and the change are refused, and nothing is changed.
func TestSale_Terms_ChangedMeanwhile(t *testing.T) {
	t.Parallel()
	f := buying(newFake(t))
	f.buyer.meanwhile = func() { f.buyer.selling.Etag = `"3"` }
	f.refuses(t, line("sale terms --fee 5"), "changed it meanwhile")
	f.buyer.meanwhile = nil
	want := proto.CloneOf(f.buyer.selling)
	want.FeePercent = 5
	f.gives(t, line("sale terms --fee 5"), &salesv1.SetSellingTermsRequest{Terms: want, Etag: `"3"`})
}
