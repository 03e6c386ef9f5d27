package advice

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tackfree/pkg/estimate"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

var (
	dollars = Shop{Currency: money.Currency{Code: "USD", Digits: 2}, Zone: time.UTC, Seen: day(100)}
	yen     = Shop{Currency: money.Currency{Code: "JPY"}, Zone: time.UTC}
	dinars  = Shop{Currency: money.Currency{Code: "KWD", Digits: 3}, Zone: time.UTC}
)

func day(n float64) time.Time {
	return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC).Add(time.Duration(n * float64(24*time.Hour)))
}

// Minor units of currencies are ISO 4217's.
func TestShop_price(t *testing.T) {
	for _, c := range []struct {
		shop  Shop
		minor float64
		want  money.Amount
	}{
		{dollars, 28_284.27, 28_300}, {dollars, 2_000, 2_000}, {dollars, 1_999.4, 1_999}, {dollars, 1_233.5, 1_234}, {dollars, 2_049.9, 2_000}, {dollars, 2_050, 2_100},
		{dollars, 0.2, 1}, {dollars, math.Inf(1), money.Max}, {yen, 19.6, 20}, {yen, 28_284.27, 28_284}, {dinars, 20_499, 20_000}, {dinars, 19_999.4, 19_999},
	} {
		if got := c.shop.price(c.minor); got != c.want {
			t.Errorf("price(%v) in %s = %d, want %d", c.minor, c.shop.Currency.Code, got, c.want)
		}
	}
}

// The season is the quarter where the shop is.
func TestShop_traits_Season(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	shop := Shop{Zone: zone}
	for at, want := range map[string]string{"2026-01-01T05:00:00Z": "january", "2026-01-01T04:59:59Z": "october", "2026-03-31T12:00:00Z": "january", "2026-04-01T12:00:00Z": "april",
		"2026-07-01T03:59:59Z": "april", "2026-07-01T04:00:00Z": "july", "2026-12-31T12:00:00Z": "october"} {
		instant, err := time.Parse(time.RFC3339, at)
		if err != nil {
			t.Fatal(err)
		}
		if got := shop.traits(Piece{}, "", instant)[estimate.TraitSeason]; got != want {
			t.Errorf("the season of %s is %s, want %s", at, got, want)
		}
	}
}

func TestShop_spells(t *testing.T) {
	asked := func(number int32, price money.Amount, from, to float64, sold bool) Stretch {
		return Stretch{Number: number, Asked: price, From: day(from), To: day(to), Sold: sold}
	}
	runs := func(s Stretch) Stretch {
		s.To = time.Time{}
		return s
	}
	gone := Known{ScrappedAt: day(7)}
	for name, c := range map[string]struct {
		of   Known
		l    listing
		want []estimate.Spell
	}{
		"Sold":             {Known{}, listing{asked(1, 100, 3, 10, true)}, []estimate.Spell{{From: 0, To: 7, Sold: true}}},
		"MarkedDown":       {Known{}, listing{asked(1, 200, 3, 10, false), asked(2, 50, 10, 15.5, true)}, []estimate.Spell{{From: 0, To: 7, LogRatio: math.Ln2}, {From: 7, To: 12.5, Sold: true, LogRatio: -math.Ln2}}},
		"Runs":             {Known{}, listing{runs(asked(1, 100, 90, 0, false))}, []estimate.Spell{{From: 0, To: 10}}},
		"GivenUp":          {gone, listing{runs(asked(1, 100, 3, 0, false))}, []estimate.Spell{{From: 0, To: 4}}},
		"SoldAndThenGone":  {gone, listing{asked(1, 100, 3, 5, true)}, []estimate.Spell{{From: 0, To: 2, Sold: true}}},
		"SoldOnTheHour":    {Known{}, listing{asked(1, 100, 3, 3, true)}, []estimate.Spell{{From: 0, To: leastStand, Sold: true}}},
		"SoldBeforeIt":     {Known{}, listing{asked(1, 100, 3, 2, true)}, []estimate.Spell{{From: 0, To: leastStand, Sold: true}}},
		"ChangedAtOnce":    {Known{}, listing{asked(1, 200, 3, 3, false), asked(2, 100, 3, 5, true)}, []estimate.Spell{{From: 0, To: 2, Sold: true}}},
		"ChangeDatedBack":  {Known{}, listing{asked(1, 200, 3, 9, false), asked(2, 100, 4, 12, true)}, []estimate.Spell{{From: 0, To: 6, LogRatio: math.Ln2}, {From: 6, To: 9, Sold: true}}},
		"Mistyped":         {Known{}, listing{asked(1, 10_000_000, 3, 5, false)}, []estimate.Spell{{From: 0, To: 2, LogRatio: 5}}},
		"GivenUpBefore":    {Known{ScrappedAt: day(1)}, listing{runs(asked(1, 100, 3, 0, false))}, nil},
		"NobodyKnowsWorth": {Known{}, listing{{Number: 1, Channel: "unknown", Asked: 100, From: day(3), To: day(5), Sold: true}}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			got := dollars.spells(c.l, c.of, func(x Stretch) (float64, bool) { return 100, x.Channel == "" })
			if diff := cmp.Diff(c.want, got, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
				t.Errorf("spells (-want +got):\n%s", diff)
			}
			if _, err := estimate.FitSelling(got, estimate.UsualSelling(30)); err != nil {
				t.Errorf("they cannot be learned from: %v", err)
			}
		})
	}
}

// However a past is cut into changes, it is the same.
func TestPast_Note(t *testing.T) {
	piece, sale := id.New(), id.New()
	rows := []Changes{
		{Pieces: []Known{{Piece: Piece{ID: piece, Kind: "chair"}}}},
		{Stretches: []Stretch{{Piece: piece, Spell: 1, Number: 1, Asked: 90, From: day(1)}}},
		{Stretches: []Stretch{{Piece: piece, Spell: 1, Number: 1, Asked: 90, From: day(1), To: day(4)}, {Piece: piece, Spell: 1, Number: 2, Asked: 70, From: day(4)}}},
		{Sales: []Sale{{ID: sale, Piece: piece, Spell: 1, Price: 70}}},
		{Pieces: []Known{{Piece: Piece{ID: piece, Kind: "chair"}, Stock: true}}},
		{Stretches: []Stretch{{Piece: piece, Spell: 1, Number: 2, Asked: 70, From: day(4), To: day(6), Sold: true}}, Sales: []Sale{{ID: sale, Piece: piece, Spell: 1, Price: 70, Refunded: 5}}},
	}
	last := Changes{Pieces: rows[4].Pieces, Stretches: []Stretch{rows[2].Stretches[0], rows[5].Stretches[0]}, Sales: rows[5].Sales}
	var bit, whole Past
	for _, c := range rows {
		bit.Note(c)
	}
	whole.Note(last)
	whole.Note(last)
	if diff := cmp.Diff(whole, bit, cmp.AllowUnexported(Past{}, listed{})); diff != "" {
		t.Errorf("noted bit by bit (-at once +bit by bit):\n%s", diff)
	}
	if got := bit.listedAt(bit.sales[0]); !got.Equal(day(1)) {
		t.Errorf("listed at %v, want %v", got, day(1))
	}
	if got := bit.listedAt(Sale{Piece: piece}); !got.IsZero() {
		t.Errorf("a sale without a listing was listed at %v", got)
	}
}

func TestShown(t *testing.T) {
	for horizon, want := range map[int][]int{1: {0}, 2: {0, 1}, 8: {0, 1, 2, 3, 4, 5, 6, 7}, 57: {0, 7, 14, 21, 28, 35, 42, 49, 56}, 58: {0, 7, 14, 21, 28, 35, 42, 49, 56, 57}} {
		if got := shown(horizon); !slices.Equal(got, want) {
			t.Errorf("shown(%d) = %v, want %v", horizon, got, want)
		}
	}
	if got := shown(56); len(got) != 56 || got[55] != 55 {
		t.Errorf("shown(56) = %v, want each day", got)
	}
}

// Of two that come to one price the second is none; what is asked now stays to the cent, and nothing goes above
// it.
func TestModel_asked(t *testing.T) {
	m := &Model{shop: dollars}
	steps := []estimate.Step{{Day: 0, Price: 31_049}, {Day: 14, Price: 30_960}, {Day: 28, Price: 25_049.9}}
	if diff := cmp.Diff([]Step{{0, 31_000}, {28, 25_000}}, m.asked(steps, Running{})); diff != "" {
		t.Errorf("of a new listing (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]Step{{0, 30_955}, {28, 25_000}}, m.asked(steps, Running{Asked: 30_955})); diff != "" {
		t.Errorf("of one that runs (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]Step{{0, 31_049}, {14, 31_000}, {28, 25_000}}, m.asked(steps, Running{Asked: 31_049})); diff != "" {
		t.Errorf("of what is asked now (-want +got):\n%s", diff)
	}
}
