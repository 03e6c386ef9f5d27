package server_test

import (
	"math"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// seenOn is the third of March, when the pieces of these tests were seen.
var seenOn = time.Date(2025, 3, 3, 10, 0, 0, 0, time.UTC)

// boughtAsSeen takes in a dresser that somebody saw before; low 0: who saw it said nothing of its price.
func (a *advised) boughtAsSeen(low, high int64) id.ID {
	piece := a.own("dresser", "large", "paint", seenOn.AddDate(0, 0, 1))
	seen := &intakev1.Prospect{Name: id.Name("prospects", id.New()), Sighting: &intakev1.Sighting{Kind: "dresser"}, SeenTime: timestamppb.New(seenOn)}
	if low > 0 {
		seen.Sighting.SellsLow, seen.Sighting.SellsHigh = usd(low), usd(high)
	}
	if a.prospects == nil {
		a.prospects = map[string]*intakev1.Prospect{}
	}
	a.prospects[seen.Name] = seen
	a.intake.pieces[id.Name("pieces", piece)].Prospect = seen.Name
	return piece
}

func (a *advised) priced(piece id.ID, guess *salesv1.Guess) *salesv1.SaleForecast {
	a.t.Helper()
	return a.askPrice(&salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece), Guess: guess}).Forecast
}

// In a shop that sold nothing yet, what was believed of a piece when it was seen is all that is known of its price: the
// middle of 320 and 560 by ratio is 423.32, and the answer says whose word it is, of what day.
func TestServer_AdvisePrice_LeansOnWhatWasBelievedWhenSeen(t *testing.T) {
	a := advises(t)
	f := a.priced(a.boughtAsSeen(320, 560), nil)
	if dollars(f.PriceLow) != 320 || dollars(f.PriceLikely) != 423 || dollars(f.PriceHigh) != 560 || f.Basis.Belief != 1 {
		t.Errorf("it brings %v to %v to %v, %v of it belief; want 320, 423, 560 and all of it", f.PriceLow, f.PriceLikely, f.PriceHigh, f.Basis.Belief)
	}
	want := &salesv1.Basis_Said{When: salesv1.Basis_Said_WHEN_SEEN, Guess: guess(320, 560), SeenTime: timestamppb.New(seenOn)}
	differ(t, "what was said", want, f.Basis.Said)
	refuses(t, a.AdvisePrice, &salesv1.AdvisePriceRequest{Piece: id.Name("pieces", a.boughtAsSeen(0, 0))}, "BELIEF_MISSING")
	refuses(t, a.AdvisePrice, &salesv1.AdvisePriceRequest{Piece: id.Name("pieces", a.own("dresser", "", "", opened))}, "BELIEF_MISSING")
}

// The posterior of two normals, by hand, in logarithms: with the weight w that the answer names, the likely price is
// belief^w times what sales alone say^(1 − w). It is the forecast that the buyer was given of such a piece.
func TestServer_AdvisePrice_BeliefAndSales(t *testing.T) {
	a := advises(t)
	a.simulate(20, 5)
	alone, with := a.priced(a.boughtAsSeen(0, 0), nil), a.priced(a.boughtAsSeen(700, 1100), nil)
	w := with.Basis.Belief
	want := math.Exp(w*math.Log(math.Sqrt(700*1100)) + (1-w)*math.Log(dollars(alone.PriceLikely)))
	if w < 0.01 || w > 0.9 || math.Abs(dollars(with.PriceLikely)-want) > 1 || alone.Basis.Belief != 0 || alone.Basis.Said != nil {
		t.Errorf("sales alone say %v, with a belief of 700 to 1100 that counts %v it is %v; want %.0f", alone.PriceLikely, w, with.PriceLikely, want)
	}
	bought, err := a.AdviseSale(t.Context(), &salesv1.AdviseSaleRequest{Guess: guess(700, 1100),
		Traits: &salesv1.Traits{Kind: "dresser", Size: typev1.PieceSize_PIECE_SIZE_LARGE, Condition: typev1.PieceCondition_PIECE_CONDITION_WORN, Look: "paint"}})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "likely price as the buyer was told it", bought.Forecast.PriceLikely, with.PriceLikely)
}

// Who says now what it brings has seen it last and is believed; what was said when it was seen goes before what the terms
// say of its kind, which counts where nobody saw it.
func TestServer_AdvisePrice_WhoseWordCounts(t *testing.T) {
	a := advises(t)
	a.said(&salesv1.SellingTerms{Beliefs: []*salesv1.SellingTerms_Belief{{Kind: "Dresser", Price: guess(100, 200)}}})
	seen := a.boughtAsSeen(320, 560)
	for name, c := range map[string]struct {
		piece id.ID
		now   *salesv1.Guess
		want  *salesv1.Basis_Said
	}{
		"now":   {seen, guess(800, 900), &salesv1.Basis_Said{When: salesv1.Basis_Said_WHEN_ASKING, Guess: guess(800, 900)}},
		"seen":  {seen, nil, &salesv1.Basis_Said{When: salesv1.Basis_Said_WHEN_SEEN, Guess: guess(320, 560), SeenTime: timestamppb.New(seenOn)}},
		"terms": {a.boughtAsSeen(0, 0), nil, &salesv1.Basis_Said{When: salesv1.Basis_Said_WHEN_TERMS, Guess: guess(100, 200)}},
	} {
		f := a.priced(c.piece, c.now)
		differ(t, name, c.want, f.Basis.Said)
		if low, high := dollars(c.want.Guess.Low), dollars(c.want.Guess.High); math.Abs(dollars(f.PriceLikely)-math.Sqrt(low*high)) > 0.5 {
			t.Errorf("%s: it brings %v, want the middle of %v and %v", name, f.PriceLikely, low, high)
		}
	}
}

// While intake is away nobody knows what was believed: it is refused, and not advised without; with a word of now it is
// not asked.
func TestServer_AdvisePrice_IntakeAway(t *testing.T) {
	a := advises(t)
	piece := a.boughtAsSeen(320, 560)
	a.priced(piece, nil)
	a.intake.goAway(true)
	refuses(t, a.AdvisePrice, &salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece)}, "DATABASE_UNAVAILABLE")
	a.priced(piece, guess(300, 500))
}

// What the floor of a size costs of which nobody said it follows from another, and who buys is told of which.
func TestServer_AdviseSale_FloorFollows(t *testing.T) {
	a := advises(t)
	a.said(&salesv1.SellingTerms{HoldingMedium: usd(1)})
	for size, want := range map[typev1.PieceSize]typev1.PieceSize{
		typev1.PieceSize_PIECE_SIZE_LARGE:  typev1.PieceSize_PIECE_SIZE_MEDIUM,
		typev1.PieceSize_PIECE_SIZE_MEDIUM: typev1.PieceSize_PIECE_SIZE_UNSPECIFIED,
	} {
		r, err := a.AdviseSale(t.Context(), &salesv1.AdviseSaleRequest{Traits: &salesv1.Traits{Kind: "dresser", Size: size}, Guess: guess(300, 500)})
		if err != nil || r.HoldingSaidOf != want {
			t.Errorf("the floor of a %v costs %v, said of %v (%v), want %v", size, r.GetHoldingPerDay(), r.GetHoldingSaidOf(), err, want)
		}
	}
}
