package server_test

import (
	"math"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// askPrice asks what to ask for a piece.
func (a *advised) askPrice(r *salesv1.AdvisePriceRequest) *salesv1.AdvisePriceResponse {
	a.t.Helper()
	a.hear()
	resp, err := a.AdvisePrice(a.t.Context(), r)
	if err != nil {
		a.t.Fatal(err)
	}
	return resp
}

// lists puts a piece up for sale by the command, as of a time, and lets its consumer hear of it.
func (a *advised) lists(piece id.ID, price int64, at time.Time) {
	a.t.Helper()
	now := a.now
	defer func() { a.now = now }()
	a.now = at
	a.intake.set(&intakev1.Piece{Name: id.Name("pieces", piece), Tag: 7, Kind: "dresser", State: intakev1.Piece_STATE_IN_HAND,
		Origin: &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{}}})
	r := &salesv1.CreateListingRequest{RequestId: svctest.NewID(), Piece: id.Name("pieces", piece), Channel: "Market stall", AskingPrice: usd(price)}
	if _, err := a.CreateListing(svctest.Ctx(a.t), r); err != nil {
		a.t.Fatal(err)
	}
	a.puts(piece, float64(price), at)
	a.hear()
}

var usualTerms = &salesv1.SellingTerms{HoldingSmall: usd(0), HoldingMedium: &money.Money{CurrencyCode: "USD", Nanos: 500_000_000}, HoldingLarge: usd(1), FeePercent: 10}

func kindsOf(ways []*salesv1.AdvisePriceResponse_Way) (kinds []salesv1.AdvisePriceResponse_Way_Kind) {
	for _, w := range ways {
		kinds = append(kinds, w.Kind)
	}
	return kinds
}

// The advised way is worth the most of all, its prices are ones that a shop asks, and it keeps to the terms.
func TestServer_AdvisePrice(t *testing.T) {
	a := advises(t)
	a.simulate(300, 3)
	a.said(usualTerms)
	piece := a.own("dresser", "large", "paint", today)
	resp := a.askPrice(&salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece), Channel: "Market stall", Trying: usd(500)})

	want := []salesv1.AdvisePriceResponse_Way_Kind{salesv1.AdvisePriceResponse_Way_KIND_ADVISED, salesv1.AdvisePriceResponse_Way_KIND_ONE_PRICE,
		salesv1.AdvisePriceResponse_Way_KIND_TENTH_OFF, salesv1.AdvisePriceResponse_Way_KIND_TRIED}
	kinds := kindsOf(resp.Ways)
	if len(kinds) != 4 || kinds[0] != want[0] || kinds[1] != want[1] || kinds[2] != want[2] || kinds[3] != want[3] {
		t.Fatalf("ways are %v, want %v", kinds, want)
	}
	best := resp.Ways[0]
	for _, w := range resp.Ways {
		if dollars(w.Expected) > dollars(best.Expected)+1 { // but for what the whole units take
			t.Errorf("%v is expected to bring %v, the advised way %v", w.Kind, w.Expected, best.Expected)
		}
		a.checkWay(w, 180)
	}
	if n := len(best.Steps); n < 2 || n > 4 {
		t.Errorf("the advice has %d prices, want a markdown and three at most: %v", n, best.Steps)
	}
	differ(t, "tried", usd(500), resp.Ways[3].Steps[0].AskingPrice)
	// A tenth of the likely price costs the fee, and a day on the floor a dollar.
	if resp.HoldingPerDay.Units != 1 || resp.FeePercent != 10 || resp.HorizonDays != 180 || resp.AskingPrice != nil || resp.DaysListed != 0 {
		t.Errorf("terms of the advice: %v", resp)
	}
	if likely, salvage := dollars(resp.Forecast.PriceLikely), dollars(resp.Salvage); math.Abs(salvage-0.4*likely) > 0.4*0.5+0.01 {
		t.Errorf("it goes for %v at the end, want 40 %% of %v", salvage, likely)
	}
}

// checkWay holds a way to the terms: whole units, falling, each for two weeks; a course that rises to what is sold.
func (a *advised) checkWay(w *salesv1.AdvisePriceResponse_Way, horizon int32) {
	a.t.Helper()
	for n, s := range w.Steps {
		if s.AskingPrice.Nanos != 0 || s.AskingPrice.Units < 20 {
			a.t.Errorf("%v asks %v, which no shop asks", w.Kind, s.AskingPrice)
		}
		if n > 0 && (s.Day < w.Steps[n-1].Day+14 || s.AskingPrice.Units >= w.Steps[n-1].AskingPrice.Units) {
			a.t.Errorf("%v marks down from %v to %v", w.Kind, w.Steps[n-1], s)
		}
	}
	last := w.SoldBy[len(w.SoldBy)-1]
	if w.SoldBy[0].Day != 0 || w.SoldBy[1].Day != 7 || last.Day != horizon-1 || math.Abs(last.Share-w.Sold) > 1e-9 {
		a.t.Errorf("the course of %v is of days %d, %d … %d and ends with %v, want 0, 7 … %d and %v", w.Kind, w.SoldBy[0].Day, w.SoldBy[1].Day, last.Day, last.Share, horizon-1, w.Sold)
	}
	for _, by := range w.SoldBy {
		if !(by.ShareLow < by.Share && by.Share < by.ShareHigh && by.ShareHigh <= 1) {
			a.t.Errorf("of %v by day %d %v are sold, and nine times in ten %v to %v", w.Kind, by.Day, by.Share, by.ShareLow, by.ShareHigh)
		}
	}
	for n := range w.SoldBy[1:] {
		if w.SoldBy[n+1].Share < w.SoldBy[n].Share {
			a.t.Errorf("the course of %v falls on day %d", w.Kind, w.SoldBy[n+1].Day)
		}
	}
	if w.Days <= 0 || w.Days > float64(horizon) || w.Sold <= 0 || w.Sold > 1 {
		a.t.Errorf("%v stands %v days and sells %v", w.Kind, w.Days, w.Sold)
	}
}

// The money of a way by hand, for a horizon of one day: what is asked less the fee if it is sold, or else the
// salvage, less a day of floor.
func TestServer_AdvisePrice_MoneyByHand(t *testing.T) {
	a := advises(t)
	a.said(&salesv1.SellingTerms{HoldingMedium: usd(3), FeePercent: 10, HorizonDays: proto.Int32(1), SalvagePercent: proto.Float64(50)})
	piece := a.own("dresser", "medium", "", today)
	resp := a.askPrice(&salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece), Guess: guess(400, 400), Trying: usd(400)})
	tried := resp.Ways[len(resp.Ways)-1]
	// Half are sold in 30 days at the likely price, at an even rate: in one day 1 − 2^(−1/30).
	sold := 1 - math.Pow(2, -1.0/30)
	want := math.Round(100*(sold*400*0.9+(1-sold)*200-3)) / 100
	if math.Abs(tried.Sold-sold) > 1e-6 || math.Abs(dollars(tried.Expected)-want) > 0.005 || tried.Days != 1 {
		t.Errorf("tried = %v, want %.4f sold and %.2f expected", tried, sold, want)
	}
}

// A listing that runs goes on: what is asked stays until it may be changed, and never rises.
func TestServer_AdvisePrice_Running(t *testing.T) {
	a := advises(t)
	a.simulate(300, 3)
	piece := a.own("dresser", "large", "paint", today.AddDate(0, 0, -30))
	a.lists(piece, 390, today.AddDate(0, 0, -5))
	resp := a.askPrice(&salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece)})
	differ(t, "asked now", usd(390), resp.AskingPrice)
	if resp.DaysListed != 5 {
		t.Errorf("listed for %d days, want 5", resp.DaysListed)
	}
	as := resp.Ways[len(resp.Ways)-1]
	if as.Kind != salesv1.AdvisePriceResponse_Way_KIND_AS_LISTED || len(as.Steps) != 1 || as.Steps[0].AskingPrice.Units != 390 {
		t.Errorf("the last way is %v, want as it is listed", as)
	}
	best := resp.Ways[0]
	if best.Steps[0].AskingPrice.Units != 390 || len(best.Steps) > 1 && best.Steps[1].Day < 9 {
		t.Errorf("advised are %v, but 390 stands for nine more days", best.Steps)
	}
	a.checkWay(as, 175)
	if season := resp.Forecast.Basis.Effects[len(resp.Forecast.Basis.Effects)-2]; season.Trait != salesv1.Basis_Effect_TRAIT_CHANNEL || season.Word != "market stall" {
		t.Errorf("the channel it is listed on is not reckoned with: %v", season)
	}
	// One that stands longer than the horizon is still advised on.
	a.now = today.AddDate(1, 0, 0)
	if resp := a.askPrice(&salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece)}); resp.DaysListed != 370 || resp.Ways[0].SoldBy[len(resp.Ways[0].SoldBy)-1].Day != 13 {
		t.Errorf("after a year: listed %d days, advised %v", resp.DaysListed, resp.Ways[0])
	}
}

// Markdowns that were made count toward those that may be: of one, none is left.
func TestServer_AdvisePrice_MarkedDownAlready(t *testing.T) {
	a := advises(t)
	a.simulate(300, 3)
	a.said(&salesv1.SellingTerms{MostMarkdowns: proto.Int32(1), HoldingLarge: usd(5)})
	piece := a.own("dresser", "large", "paint", today.AddDate(0, 0, -60))
	a.lists(piece, 900, today.AddDate(0, 0, -40))
	advised := func() []*salesv1.AdvisePriceResponse_Step {
		return a.askPrice(&salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece)}).Ways[0].Steps
	}
	if steps := advised(); steps[len(steps)-1].AskingPrice.Units >= 900 {
		t.Fatalf("advised are %v, want a markdown of what nobody pays", steps)
	}
	a.marks(piece, 850, today.AddDate(0, 0, -20))
	a.hear()
	if steps := advised(); len(steps) != 1 {
		t.Errorf("advised are %v after the one markdown that may be", steps)
	}
}

// A piece that no event has told of yet is asked about; advice learns of new sales at once.
func TestServer_AdvisePrice_Unheard(t *testing.T) {
	a := advises(t)
	a.sells(a.own("dresser", "", "", opened), 300, opened, id.Nil)
	a.hear()
	name := a.intake.take(intakev1.Piece_STATE_IN_HAND)
	a.intake.pieces[name].Kind = "Dresser"
	r := &salesv1.AdvisePriceRequest{Piece: name}
	first := a.askPrice(r)
	if first.Forecast.Basis.SalesOfKind != 1 {
		t.Errorf("the basis is %v, want the dresser", first.Forecast.Basis)
	}
	a.sells(a.own("dresser", "", "", opened), 900, today, id.Nil)
	if then := a.askPrice(r); then.Forecast.Basis.SalesOfKind != 2 || dollars(then.Forecast.PriceLikely) <= dollars(first.Forecast.PriceLikely) {
		t.Errorf("after a sale for more: %v, before %v", then.Forecast, first.Forecast)
	}
	a.intake.goAway(true)
	refuses(t, a.AdvisePrice, r, "DATABASE_UNAVAILABLE")
}

func TestServer_AdvisePrice_Refuses(t *testing.T) {
	a := advises(t)
	name := func(piece id.ID) string { return id.Name("pieces", piece) }
	own, gone, sold, clients := a.own("dresser", "", "", opened), a.own("dresser", "", "", opened), a.own("dresser", "", "", opened), id.New()
	a.tell("intake", gone, opened, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{}}})
	a.tell("intake", clients, opened, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: 70, Kind: "dresser",
		Origin: &eventsv1.PieceTakenIn_Commission_{Commission: &eventsv1.PieceTakenIn_Commission{Client: "Ana"}}}}})
	a.lists(sold, 300, today)
	if _, err := a.SellPiece(svctest.Ctx(t), &salesv1.SellPieceRequest{RequestId: svctest.NewID(), Piece: name(sold), Price: usd(300)}); err != nil {
		t.Fatal(err)
	}
	for what, c := range map[string]struct {
		r      *salesv1.AdvisePriceRequest
		reason string
	}{
		"NoName":       {&salesv1.AdvisePriceRequest{}, "INVALID_NAME"},
		"NotThere":     {&salesv1.AdvisePriceRequest{Piece: name(id.New())}, "PIECE_NOT_FOUND"},
		"Scrapped":     {&salesv1.AdvisePriceRequest{Piece: name(gone)}, "PIECE_SCRAPPED"},
		"ScrappedToo":  {&salesv1.AdvisePriceRequest{Piece: a.intake.take(intakev1.Piece_STATE_SCRAPPED)}, "PIECE_SCRAPPED"},
		"Sold":         {&salesv1.AdvisePriceRequest{Piece: name(sold)}, "PIECE_SOLD"},
		"Commission":   {&salesv1.AdvisePriceRequest{Piece: name(clients)}, "PIECE_IS_COMMISSION"},
		"UpsideDown":   {&salesv1.AdvisePriceRequest{Piece: name(own), Guess: guess(300, 200)}, "GUESS_UPSIDE_DOWN"},
		"GuessOfZero":  {&salesv1.AdvisePriceRequest{Piece: name(own), Guess: guess(0, 200)}, "GUESS_UPSIDE_DOWN"},
		"GuessInEuro":  {&salesv1.AdvisePriceRequest{Piece: name(own), Guess: &salesv1.Guess{Low: &money.Money{CurrencyCode: "EUR", Units: 1}, High: usd(2)}}, "CURRENCY_NOT_THE_SHOPS"},
		"TriesNothing": {&salesv1.AdvisePriceRequest{Piece: name(own), Trying: usd(0)}, "PRICE_ZERO"},
		"TriesEuro":    {&salesv1.AdvisePriceRequest{Piece: name(own), Trying: &money.Money{CurrencyCode: "EUR", Units: 1}}, "CURRENCY_NOT_THE_SHOPS"},
	} {
		t.Run(what, func(t *testing.T) {
			f := refuses(t, a.AdvisePrice, c.r, c.reason)
			if f.Kind == fault.Internal || len(f.Text) < 15 {
				t.Errorf("%s says %q", c.reason, f.Text)
			}
		})
	}
}

// With belief only no more than a little above it is advised, what is tried above it is told apart, and what a size's
// floor costs of which nobody said it follows from that of another.
func TestServer_AdvisePrice_WithinReach(t *testing.T) {
	a := advises(t)
	a.said(&salesv1.SellingTerms{HoldingMedium: usd(1)})
	piece := a.own("dresser", "large", "", today)
	resp := a.askPrice(&salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece), Guess: guess(320, 560), Trying: usd(742)})
	differ(t, "the most that is advised", usd(588), resp.Highest) // a twentieth above 560
	for _, w := range resp.Ways {
		if tried := w.Kind == salesv1.AdvisePriceResponse_Way_KIND_TRIED; w.Beyond != tried || !tried && w.Steps[0].AskingPrice.Units > 588 {
			t.Errorf("%v asks %v first, beyond: %v", w.Kind, w.Steps[0].AskingPrice, w.Beyond)
		}
	}
	if resp.HoldingPerDay.Units != 2 || resp.HoldingSaidOf != typev1.PieceSize_PIECE_SIZE_MEDIUM {
		t.Errorf("a large one's floor costs %v, said of %v, want twice that of a medium one", resp.HoldingPerDay, resp.HoldingSaidOf)
	}
	if len(resp.Seen) != 0 || resp.SeenListings != 0 {
		t.Errorf("of no listing %v was seen", resp.Seen)
	}
}

// How pieces of the kind were sold is told by day, and agrees with what was simulated: 35 · ln 2 = 24 days until half are sold
// at the likely price, and about that as it was asked.
func TestServer_AdvisePrice_Seen(t *testing.T) {
	a := advises(t)
	a.simulate(300, 3)
	piece := a.own("dresser", "large", "paint", today)
	resp := a.askPrice(&salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece)})
	standing, before, half := resp.SeenListings+1, 0.0, int32(0)
	for _, s := range resp.Seen {
		if s.Share <= before || s.Share > 1 || s.Standing >= standing || s.Sold < 1 || s.Sold > s.Standing {
			t.Fatalf("%v after a share of %v with %d standing", s, before, standing)
		}
		if before < 0.5 && s.Share >= 0.5 {
			half = s.Day
		}
		standing, before = s.Standing, s.Share
	}
	if resp.SeenListings < 80 || resp.Seen[0].Standing > resp.SeenListings || half < 18 || half > 35 {
		t.Errorf("of %d listings half were sold by day %d", resp.SeenListings, half)
	}
}
