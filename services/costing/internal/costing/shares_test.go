package costing_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// shares cuts a stretch of Nell's on a batch into what each of its pieces has of it.
func shares(start time.Time, lengths ...time.Duration) (all []costing.Stretch) {
	from := start
	for _, length := range lengths {
		s := nells(from, length)
		s.Whole = start
		all = append(all, s)
		from = s.End
	}
	return all
}

// Three pieces that are sprayed in one go cost what the stretch costs, to the cent: a third of an
// hour at 20.00 is 6.67 by itself, and three of those are a cent too much; of fifty minutes, which
// are 16.67, three equal shares would be 16.68.
func TestStretch_SharesCostWhatTheWholeDoes(t *testing.T) {
	for name, c := range map[string]struct {
		share time.Duration
		want  []money.Amount
	}{
		"AnHour":       {20 * time.Minute, []money.Amount{6_67, 6_66, 6_67}},
		"FiftyMinutes": {1000 * time.Second, []money.Amount{5_56, 5_55, 5_56}},
	} {
		d, b := &desk{rates: twenty()}, costing.NewBook(costing.Standard())
		var whole money.Amount
		var got []money.Amount
		for _, s := range shares(at(3, 9, 8, 0), c.share, c.share, c.share) {
			d.work(s)
			b.Work(s, termsOf(d.rates))
			got = append(got, b.Of(s.Piece).Labour)
			whole += b.Of(s.Piece).Labour
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s: pieces (-want +got):\n%s", name, diff)
		}
		d.says(t, weekOf(3, 9), costing.PayLine{Labour: 3 * c.share, Pay: whole})
	}
}

// However a stretch is shared, whatever rates change in it and whenever they are recorded: what its
// shares come to is what the stretch comes to by itself, and none earns anything back.
func TestStretch_SharesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []costing.Rate
		for i := range rapid.IntRange(0, 4).Draw(t, "rates") {
			list = append(list, rate(money.Amount(rapid.Int64Range(0, 9999).Draw(t, "per hour")),
				monday.AddDate(0, 0, rapid.IntRange(-1, 2).Draw(t, "day")), monday.Add(time.Duration(i)*time.Hour)))
		}
		rates := costing.NewRates(list)
		var lengths []time.Duration
		var all time.Duration
		for _, seconds := range rapid.SliceOfN(rapid.Int64Range(1, 30_000), 1, 6).Draw(t, "shares") {
			lengths = append(lengths, time.Duration(seconds)*time.Second)
			all += lengths[len(lengths)-1]
		}
		start := monday.Add(time.Duration(rapid.IntRange(-24*60, 48*60).Draw(t, "start")) * time.Minute)
		recorded := monday.Add(time.Duration(rapid.IntRange(-1, 5).Draw(t, "recorded")) * time.Hour)
		cost := func(s costing.Stretch) money.Amount {
			s.Fact = costing.Fact{ID: id.New(), Piece: id.New(), RecordedAt: recorded}
			return total(t, s.Transactions(costing.Standard(), termsOf(rates)))
		}
		var sum money.Amount
		for _, s := range shares(start, lengths...) {
			c := cost(s)
			if c < 0 {
				t.Fatalf("a share costs %d", c)
			}
			sum += c
		}
		if want := cost(nells(start, all)); sum != want {
			t.Fatalf("shares add up to %d, want %d", sum, want)
		}
	})
}
