package costing_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/apportion"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// onDay is a fact of a day; 0 is when the lot is bought.
func onDay(day int, piece id.ID) costing.Fact {
	f := fact(piece)
	f.OccurredAt = monday.AddDate(0, 0, day)
	return f
}

func marked(day int, piece id.ID, kind costing.MarkKind) costing.Mark {
	return costing.Mark{Fact: onDay(day, piece), Kind: kind}
}

// lotOf makes the terms of a lot of pieces, as they were set on a day.
func lotOf(day int, version int64, price money.Amount, takesOver bool, pieces []id.ID, weights ...int64) costing.LotTerms {
	t := costing.LotTerms{Fact: onDay(day, id.Nil), Lot: pieces[0], Version: version, Price: price, TakesOver: takesOver}
	for i, w := range weights {
		t.Shares = append(t.Shares, costing.LotShare{Piece: pieces[i], Weight: w})
	}
	return t
}

// corrected are the lines of prices that later terms of a lot put right by themselves; terms come by
// version.
func corrected(terms []costing.LotTerms) (out []costing.Dated) {
	b := costing.NewBook(costing.Standard())
	for n, t := range terms {
		if n > 0 && t.Price != terms[n-1].Price {
			b.CorrectLotPrice(t, terms[n-1].Price, "the receipt")
		}
	}
	for _, t := range b.Transactions {
		for _, l := range t.Lines {
			out = append(out, costing.Dated{At: t.OccurredAt, Line: l})
		}
	}
	return out
}

// bears is what each piece costs at the end of a day: its first share, and what was booked since.
func bears(first costing.LotTerms, lines []costing.Dated, day int) (out []money.Amount) {
	var weights []int64
	for _, s := range first.Shares {
		weights = append(weights, s.Weight)
	}
	out = apportion.Split(first.Price, weights)
	for i, s := range first.Shares {
		for _, l := range lines {
			if l.Piece == s.Piece && l.Bucket == costing.Acquisition && !l.At.After(monday.AddDate(0, 0, day)) {
				out[i] += l.Amount
			}
		}
	}
	return out
}

func ids(n int) (out []id.ID) {
	for range n {
		out = append(out, id.New())
	}
	return out
}

// The life of a lot of 100.00 over three pieces that count 1, 1 and 2, worked by hand, day by day.
func TestJoint_ALife(t *testing.T) {
	p := ids(3)
	a, b, c := p[0], p[1], p[2]
	scrapped, sold, returned := costing.MarkScrapped, costing.MarkSold, costing.MarkReturned
	type days map[int][]money.Amount
	cases := map[string]struct {
		takesOver bool
		later     []costing.LotTerms
		marks     []costing.Mark
		want      days
	}{
		"NothingHappens": {true, nil, nil, days{0: {2_500, 2_500, 5_000}}},
		"Keeps":          {false, nil, []costing.Mark{marked(1, b, scrapped)}, days{1: {2_500, 2_500, 5_000}}},
		// 25.00 over 1 and 2: 8.33⅓ and 16.66⅔, the cent to the larger rest.
		"TakesOver": {true, nil, []costing.Mark{marked(1, b, scrapped)}, days{0: {2_500, 2_500, 5_000}, 1: {3_333, 0, 6_667}}},
		// What the second loses has what it took over from the first.
		"OneAfterTheOther": {true, nil, []costing.Mark{marked(1, b, scrapped), marked(2, a, scrapped)}, days{1: {3_333, 0, 6_667}, 2: {0, 0, 10_000}}},
		"NobodyIsLeft":     {true, nil, []costing.Mark{marked(1, b, scrapped), marked(2, a, scrapped), marked(3, c, scrapped)}, days{2: {0, 0, 10_000}, 3: {0, 0, 10_000}}},
		"TwoAtOnce":        {true, nil, []costing.Mark{marked(1, a, scrapped), marked(1, b, scrapped)}, days{1: {0, 0, 10_000}}},
		"AllAtOnce":        {true, nil, []costing.Mark{marked(1, a, scrapped), marked(1, b, scrapped), marked(1, c, scrapped)}, days{1: {2_500, 2_500, 5_000}}},
		"OthersAreSold":    {true, nil, []costing.Mark{marked(1, a, sold), marked(2, b, scrapped)}, days{2: {2_500, 0, 7_500}}},
		"OnesSoldLater":    {true, nil, []costing.Mark{marked(1, b, scrapped), marked(2, a, sold)}, days{2: {3_333, 0, 6_667}}},
		"OneCameBack":      {true, nil, []costing.Mark{marked(1, a, sold), marked(2, a, returned), marked(3, b, scrapped)}, days{3: {3_333, 0, 6_667}}},
		"AllOthersSold":    {true, nil, []costing.Mark{marked(1, a, sold), marked(1, c, sold), marked(2, b, scrapped), marked(3, a, returned)}, days{3: {2_500, 2_500, 5_000}}},
		// A scrap beside a sale is none, and is one when the piece comes back.
		"SoldAndScrapped":      {true, nil, []costing.Mark{marked(1, b, sold), marked(2, b, scrapped)}, days{2: {2_500, 2_500, 5_000}}},
		"ScrappedAndComesBack": {true, nil, []costing.Mark{marked(1, b, sold), marked(2, b, scrapped), marked(3, b, returned)}, days{2: {2_500, 2_500, 5_000}, 3: {3_333, 0, 6_667}}},
		"ScrappedThenSold":     {true, nil, []costing.Mark{marked(1, b, scrapped), marked(2, b, sold)}, days{1: {3_333, 0, 6_667}, 2: {2_500, 2_500, 5_000}}},
		// 130.00: 32.50, 32.50, 65.00, and of b's 10.83⅓ and 21.66⅔.
		"PriceCorrected": {true, []costing.LotTerms{lotOf(5, 2, 13_000, false, p, 1, 1, 2)}, []costing.Mark{marked(1, b, scrapped)},
			days{4: {3_333, 0, 6_667}, 5: {4_333, 0, 8_667}}},
		"SplitRevised": {false, []costing.LotTerms{lotOf(5, 2, 10_000, false, p, 2, 1, 1)}, []costing.Mark{marked(1, b, sold)}, days{4: {2_500, 2_500, 5_000}, 5: {5_000, 2_500, 2_500}}},
		// What was scrapped before goes by the new weights, from when they are said.
		"RevisedAfterScrap": {true, []costing.LotTerms{lotOf(5, 2, 10_000, false, p, 1, 2, 1)}, []costing.Mark{marked(1, b, scrapped)}, days{4: {3_333, 0, 6_667}, 5: {5_000, 0, 5_000}}},
		// The last word counts, from its day on; what was said of the days before stays.
		"DatedBack": {false, []costing.LotTerms{lotOf(5, 2, 20_000, false, p, 1, 1, 2), lotOf(3, 3, 40_000, false, p, 1, 1, 2)}, nil,
			days{2: {2_500, 2_500, 5_000}, 3: {10_000, 10_000, 20_000}, 5: {10_000, 10_000, 20_000}}},
		"ScrappedInTheMinuteBefore": {true, nil, []costing.Mark{marked(-1, b, scrapped)}, days{-1: {2_500, 2_500, 5_000}, 0: {3_333, 0, 6_667}}},
		"ScrappedTwice":             {true, nil, []costing.Mark{marked(1, b, scrapped), marked(2, a, sold), marked(3, b, scrapped)}, days{3: {3_333, 0, 6_667}}},
		// Nobody expects anything of those that are left: they share alike.
		"TakersWorthNothing": {true, []costing.LotTerms{lotOf(1, 2, 10_000, false, p, 0, 1, 0)}, []costing.Mark{marked(2, b, scrapped)}, days{1: {0, 10_000, 0}, 2: {5_000, 0, 5_000}}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			first := lotOf(0, 1, 10_000, c.takesOver, p, 1, 1, 2)
			terms := append([]costing.LotTerms{first}, c.later...)
			got := append(costing.Standard().Joint(terms, c.marks), corrected(terms)...)
			for day, want := range c.want {
				if diff := cmp.Diff(want, bears(first, got, day)); diff != "" {
					t.Errorf("on day %d (-want +got):\n%s", day, diff)
				}
			}
		})
	}
}

// A price that turns out to be another is booked by itself; what the pieces left bear of it beyond
// that goes from piece to piece, and is paid by nobody.
func TestJoint_Lines(t *testing.T) {
	p := ids(2)
	terms := []costing.LotTerms{lotOf(0, 1, 10_000, true, p, 1, 1), lotOf(3, 2, 12_000, false, p, 1, 1)}
	b := costing.NewBook(costing.Standard())
	g := costing.Group{Kind: costing.JointCost, ID: p[0]}
	b.Settle(g, costing.Cause{ID: id.New()}, nil, b.Rules().Joint(terms, []costing.Mark{marked(1, p[0], costing.MarkScrapped)}))
	line := func(a costing.Account, bucket costing.Bucket, piece id.ID, amount money.Amount) costing.Line {
		return costing.Line{Account: a, Bucket: bucket, Piece: piece, Amount: amount}
	}
	want := [][]costing.Line{
		{line(costing.WorkInProcess, costing.Acquisition, p[1], 5_000), line(costing.WorkInProcess, costing.Acquisition, p[0], -5_000)},
		{line(costing.WorkInProcess, costing.Acquisition, p[1], 1_000), line(costing.WorkInProcess, costing.Acquisition, p[0], -1_000)},
	}
	for i, tx := range b.Transactions {
		if i < len(want) {
			if diff := cmp.Diff(want[i], tx.Lines); diff != "" || tx.Group != g || tx.Check() != nil {
				t.Errorf("transaction %d of %v (-want +got):\n%s", i, tx.Group, diff)
			}
		}
	}
	if len(b.Transactions) != len(want) || b.Of(p[0]).Acquisition != -6_000 || b.Of(p[1]).Acquisition != 6_000 {
		t.Errorf("%d transactions; the sheets change by %d and %d", len(b.Transactions), b.Of(p[0]).Acquisition, b.Of(p[1]).Acquisition)
	}
}

// Whatever happens to a lot: the pieces together always cost what was paid for it, nothing is below
// zero, a lost piece costs nothing once anybody took it over, and the order in which things become
// known does not matter, nor in how many steps.
func TestJoint_AlwaysAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := ids(rapid.IntRange(2, 6).Draw(t, "pieces"))
		weights := rapid.SliceOfN(rapid.Int64Range(0, 1_000), len(p), len(p))
		price := rapid.Int64Range(0, 1_000_000)
		terms := []costing.LotTerms{lotOf(0, 1, money.Amount(price.Draw(t, "price")), rapid.Bool().Draw(t, "takes over"), p, weights.Draw(t, "weights")...)}
		for v := range rapid.Int64Range(0, 3).Draw(t, "later terms") {
			terms = append(terms, lotOf(rapid.IntRange(0, 9).Draw(t, "set on"), v+2, money.Amount(price.Draw(t, "price")), false, p, weights.Draw(t, "weights")...))
		}
		var marks []costing.Mark
		for range rapid.IntRange(0, 8).Draw(t, "marks") {
			marks = append(marks, marked(rapid.IntRange(-1, 9).Draw(t, "day"), rapid.SampledFrom(p).Draw(t, "of"),
				rapid.SampledFrom([]costing.MarkKind{costing.MarkScrapped, costing.MarkSold, costing.MarkReturned}).Draw(t, "mark")))
		}
		r := costing.Standard()
		want := r.Joint(terms, marks)
		booked := append(corrected(terms), want...)
		for day := range 10 {
			checkDay(t, terms, booked, day)
		}
		if got := r.Joint(rapid.Permutation(terms).Draw(t, "terms known"), rapid.Permutation(marks).Draw(t, "marks known")); cmp.Diff(want, got) != "" {
			t.Fatalf("known in another order it is otherwise:\n%s", cmp.Diff(want, got))
		}
	})
}

// A lot whose price was put right is, on each day, what it would be had that been its price from the
// start, whenever it was split otherwise and whatever became of its pieces meanwhile.
func TestJoint_APriceCountsFromThePurchase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := ids(rapid.IntRange(2, 5).Draw(t, "pieces"))
		draw := rapid.SliceOfN(rapid.Int64Range(0, 1_000), len(p), len(p))
		told, right := drawPrices(t, p, draw)
		var marks []costing.Mark
		for range rapid.IntRange(0, 6).Draw(t, "marks") {
			marks = append(marks, marked(rapid.IntRange(1, 9).Draw(t, "day"), rapid.SampledFrom(p).Draw(t, "of"),
				rapid.SampledFrom([]costing.MarkKind{costing.MarkScrapped, costing.MarkSold, costing.MarkReturned}).Draw(t, "mark")))
		}
		r := costing.Standard()
		got, want := append(corrected(told), r.Joint(told, marks)...), r.Joint(right, marks)
		for day := range 10 {
			if diff := cmp.Diff(bears(right[0], want, day), bears(told[0], got, day)); diff != "" {
				t.Fatalf("on day %d (-right from the start +put right):\n%s", day, diff)
			}
		}
	})
}

// drawPrices makes terms of a lot, some of which put its price right and some split it otherwise, and
// those of the same lot with the right price in all of them.
func drawPrices(t *rapid.T, p []id.ID, weights *rapid.Generator[[]int64]) (told, right []costing.LotTerms) {
	day, inForce, price := 0, weights.Draw(t, "weights"), rapid.Map(rapid.Int64Range(0, 100_000), func(a int64) money.Amount { return money.Amount(a) })
	first := lotOf(0, 1, price.Draw(t, "price"), rapid.Bool().Draw(t, "takes over"), p, inForce...)
	told = append(told, first)
	for v := range rapid.Int64Range(1, 4).Draw(t, "later terms") {
		last := told[len(told)-1].Price
		if rapid.Bool().Draw(t, "price") {
			told = append(told, lotOf(0, v+2, price.Draw(t, "price"), false, p, inForce...))
			continue
		}
		day, inForce = min(9, day+rapid.IntRange(0, 3).Draw(t, "days")), weights.Draw(t, "weights")
		told = append(told, lotOf(day, v+2, last, false, p, inForce...))
	}
	for n, terms := range told {
		if n == 0 || terms.Price == told[n-1].Price {
			terms.Price = told[len(told)-1].Price
			right = append(right, terms)
		}
	}
	return told, right
}

// checkDay checks that what pieces bear on a day is the price in force.
func checkDay(t *rapid.T, terms []costing.LotTerms, lines []costing.Dated, day int) {
	at, price := monday.AddDate(0, 0, day), money.Amount(0)
	for _, terms := range terms {
		if !terms.OccurredAt.After(at) {
			price = terms.Price
		}
	}
	var sum money.Amount
	for i, amount := range bears(terms[0], lines, day) {
		if sum += amount; amount < 0 {
			t.Fatalf("on day %d piece %d costs %d", day, i, amount)
		}
	}
	if sum != price {
		t.Fatalf("on day %d the pieces cost %d, the lot %d", day, sum, price)
	}
	balances := map[time.Time]money.Amount{}
	for _, l := range lines {
		balances[l.At] += l.Amount
	}
	for at, off := range balances {
		if off != 0 {
			t.Fatalf("what is booked at %s is out of balance by %d", at, off)
		}
	}
}

// A book says which lots its facts touch, and the last of these facts is the cause.
func TestBook_SettleLots(t *testing.T) {
	p, others := ids(2), ids(2)
	mine, theirs := lotOf(0, 1, 10_000, true, p, 1, 1), lotOf(0, 1, 10_000, true, others, 1, 1)
	b := costing.NewBook(costing.Standard())
	scrap := onDay(1, p[0])
	scrap.RecordedAt = monday.AddDate(0, 0, 2)
	b.Scrap(scrap)
	b.AddTerms(theirs)
	pieces, lots := b.LotPieces()
	if fmt.Sprint(pieces, lots) != fmt.Sprint([]id.ID{p[0]}, []id.ID{theirs.Lot}) {
		t.Errorf("LotPieces = %v, %v; want the scrapped piece, and the lot that is told of", pieces, lots)
	}
	want, causes := b.SettleLots([]costing.LotTerms{mine}, []costing.Mark{marked(0, p[1], costing.MarkFinished)})
	if len(want) != 2 || len(want[mine.Lot]) != 4 || len(want[theirs.Lot]) != 0 {
		t.Errorf("SettleLots = %v, want what goes from one piece to the other of the first lot", want)
	}
	if causes[mine.Lot] != (costing.Cause{ID: scrap.ID, Event: scrap.ID, RecordedAt: scrap.RecordedAt}) || causes[theirs.Lot].ID != theirs.ID {
		t.Errorf("causes = %v", causes)
	}
}
