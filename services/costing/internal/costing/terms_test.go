package costing_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

const percent = 10_000 // of millionths

func burden(of id.ID, share int64, from, recorded time.Time) costing.Burden {
	return costing.Burden{ID: id.New(), Person: of, Share: share, From: from, RecordedAt: recorded}
}

func overhead(department string, perHour money.Amount, from, recorded time.Time, kinds ...string) costing.OverheadRate {
	return costing.OverheadRate{ID: id.New(), Department: department, StageKinds: kinds, Basis: costing.LabourHour, PerHour: perHour, From: from, RecordedAt: recorded}
}

// sanding is an hour and a half of Nell's on a piece, from Monday on.
func sanding() costing.Stretch {
	return costing.Stretch{Fact: fact(id.New()), Sign: 1, Entry: id.New(), Person: nell, Stage: id.New(), StageKind: "sand", Start: monday, End: monday.Add(90 * time.Minute)}
}

// Ninety minutes at 20.00 are 30.00; 7.65 % of that are 2.295, so 2.30 (half to even of 229.5);
// overhead of 12.50 an hour is 18.75.
func TestBook_Work_BurdenAndOverhead(t *testing.T) {
	long := monday.AddDate(0, 0, -7)
	terms := costing.NewTerms([]costing.Rate{rate(20_00, long, long)}, []costing.Burden{burden(id.Nil, 7*percent+65*percent/100, long, long)},
		[]costing.OverheadRate{overhead("", 12_50, long, long)})
	for name, c := range map[string]struct {
		change func(*costing.Stretch)
		want   costing.Sums
		idle   money.Amount // on no piece
	}{
		"First":   {func(*costing.Stretch) {}, costing.Sums{Labour: 30_00, Burden: 2_30, Overhead: 18_75, LabourTime: 90 * time.Minute}, 0},
		"Again":   {func(s *costing.Stretch) { s.Rework = true }, costing.Sums{Rework: 30_00 + 2_30 + 18_75, ReworkTime: 90 * time.Minute}, 0},
		"NoPiece": {func(s *costing.Stretch) { s.Piece, s.Stage, s.StageKind, s.Indirect = id.Nil, id.Nil, "", "cleaning" }, costing.Sums{}, 32_30},
	} {
		t.Run(name, func(t *testing.T) {
			b, s := costing.NewBook(costing.Standard()), sanding()
			c.change(&s)
			b.Work(s, terms)
			if s.Piece != id.Nil && b.Of(s.Piece).Sums != c.want {
				t.Errorf("sheet = %+v, want %+v", b.Of(s.Piece).Sums, c.want)
			}
			if got := balance(b, "indirect_labour"); got != c.idle {
				t.Errorf("labour on no piece = %d, want %d", got, c.idle)
			}
			if got := balance(b, costing.WagesPayable) + balance(b, "burden_payable"); got != -32_30 || b.Check() != nil {
				t.Errorf("owed = %d, want 3230 (%v)", -got, b.Check())
			}
		})
	}
}

// What somebody's own burden is counts for them in place of everybody's from its day on; a
// department's overhead in place of the shop's for its own stages, until it is 0.
func TestTerms_OwnBeforeTheShops(t *testing.T) {
	long, half := monday.AddDate(0, 0, -7), monday.Add(45*time.Minute)
	for name, c := range map[string]struct {
		terms            *costing.Terms
		burden, overhead money.Amount
	}{
		"OwnBurdenFromHalfway":  {costing.NewTerms([]costing.Rate{rate(20_00, long, long)}, []costing.Burden{burden(id.Nil, 10*percent, long, long), burden(nell, 20*percent, half, long)}, nil), 1_50 + 3_00, 0},
		"SomebodyElsesBurden":   {costing.NewTerms([]costing.Rate{rate(20_00, long, long)}, []costing.Burden{burden(id.Nil, 10*percent, long, long), burden(id.New(), 20*percent, long, long)}, nil), 3_00, 0},
		"TheShopsChangesLater":  {costing.NewTerms([]costing.Rate{rate(20_00, long, long)}, []costing.Burden{burden(id.Nil, 10*percent, long, long), burden(id.Nil, 20*percent, half, long)}, nil), 1_50 + 3_00, 0},
		"OwnStaysWhenItChanges": {costing.NewTerms([]costing.Rate{rate(20_00, long, long)}, []costing.Burden{burden(nell, 20*percent, long, long), burden(id.Nil, 10*percent, half, long)}, nil), 6_00, 0},
		"Department":            {costing.NewTerms(nil, nil, []costing.OverheadRate{overhead("", 10_00, long, long), overhead("bench", 4_00, long, long, "sand", "fill")}), 0, 6_00},
		"AnotherDepartment":     {costing.NewTerms(nil, nil, []costing.OverheadRate{overhead("", 10_00, long, long), overhead("booth", 40_00, long, long, "topcoat_coat")}), 0, 15_00},
		"NoDepartmentAnyMore": {costing.NewTerms(nil, nil, []costing.OverheadRate{overhead("", 10_00, long, long), overhead("bench", 4_00, long, long, "sand"),
			overhead("bench", 0, half, long, "sand")}), 0, 3_00 + 7_50},
		"ByTheMachine": {costing.NewTerms(nil, nil, []costing.OverheadRate{overhead("", 10_00, long, long),
			{ID: id.New(), Department: "bench", StageKinds: []string{"sand"}, Basis: costing.MachineHour, PerHour: 9_00, From: long, RecordedAt: long}}), 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			b, s := costing.NewBook(costing.Standard()), sanding()
			b.Work(s, c.terms)
			if got := b.Of(s.Piece).Sums; got.Burden != c.burden || got.Overhead != c.overhead {
				t.Errorf("burden %d, overhead %d, want %d and %d", got.Burden, got.Overhead, c.burden, c.overhead)
			}
		})
	}
}

// Whatever terms are recorded, and whenever: the first price and the adjustments add up to the
// price by all of them, each in balance and named once; taking the stretch away leaves nothing.
func TestStretch_TermsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rates []costing.Rate
		var burdens []costing.Burden
		var overheads []costing.OverheadRate
		for i := range rapid.IntRange(0, 8).Draw(t, "terms") {
			from, recorded := monday.Add(time.Duration(rapid.IntRange(-60, 120).Draw(t, "from"))*time.Minute), monday.Add(time.Duration(i)*time.Hour)
			amount := rapid.Int64Range(0, 9999).Draw(t, "amount")
			switch rapid.IntRange(0, 3).Draw(t, "kind") {
			case 0:
				rates = append(rates, rate(money.Amount(amount), from, recorded))
			case 1:
				burdens = append(burdens, burden(rapid.SampledFrom([]id.ID{id.Nil, nell}).Draw(t, "whose"), amount*100, from, recorded))
			case 2:
				overheads = append(overheads, overhead("", money.Amount(amount), from, recorded))
			default:
				overheads = append(overheads, overhead("bench", money.Amount(amount), from, recorded, "sand"))
			}
		}
		s := sanding()
		s.RecordedAt = monday.Add(time.Duration(rapid.IntRange(-1, 9).Draw(t, "recorded")) * time.Hour)
		s.Rework = rapid.Bool().Draw(t, "again")
		late := s
		late.ID, late.Piece, late.RecordedAt = id.New(), id.New(), monday.AddDate(0, 0, 7)
		away := s
		away.Sign, away.ID, away.RecordedAt = -1, id.New(), s.RecordedAt.Add(time.Duration(rapid.IntRange(0, 5).Draw(t, "corrected"))*time.Hour)
		b, terms := costing.NewBook(costing.Standard()), costing.NewTerms(rates, burdens, overheads)
		for _, stretch := range []costing.Stretch{s, late} {
			b.Work(stretch, terms)
		}
		if got, want := b.Of(s.Piece).Sums, b.Of(late.Piece).Sums; got != want {
			t.Fatalf("with terms that came later %+v, with all at once %+v", got, want)
		}
		b.Work(away, terms)
		if got := b.Of(s.Piece).Sums; got != (costing.Sums{}) || b.Check() != nil {
			t.Fatalf("after it was taken away: %+v, %v", got, b.Check())
		}
		names := map[id.ID]bool{}
		for _, tx := range b.Transactions {
			names[tx.ID] = true
		}
		if len(names) != len(b.Transactions) {
			t.Fatalf("%d transactions have %d names", len(b.Transactions), len(names))
		}
	})
}

// Somebody's own burden counts from its day on, until it ends: then everybody's does again, with what it has
// become meanwhile and what it becomes later. Zero is a burden too.
func TestTerms_BurdenEnds(t *testing.T) {
	day := func(n int) time.Time { return monday.AddDate(0, 0, n) }
	ends := func(n int) costing.Burden {
		b := burden(nell, 0, day(n), day(-30))
		b.Ends = true
		return b
	}
	shop := []costing.Burden{burden(id.Nil, 10*percent, day(-9), day(-30)), burden(id.Nil, 20*percent, day(2), day(-30)), burden(id.Nil, 30*percent, day(5), day(-30))}
	for name, c := range map[string]struct {
		own  []costing.Burden
		want []money.Amount // on 100.00 of each day from Monday on
	}{
		"None":           {nil, []money.Amount{10_00, 10_00, 20_00, 20_00, 20_00, 30_00, 30_00}},
		"Own":            {[]costing.Burden{burden(nell, 5*percent, day(1), day(-30))}, []money.Amount{10_00, 5_00, 5_00, 5_00, 5_00, 5_00, 5_00}},
		"Zero":           {[]costing.Burden{burden(nell, 0, day(1), day(-30))}, []money.Amount{10_00, 0, 0, 0, 0, 0, 0}},
		"Ends":           {[]costing.Burden{burden(nell, 5*percent, day(1), day(-30)), ends(4)}, []money.Amount{10_00, 5_00, 5_00, 5_00, 20_00, 30_00, 30_00}},
		"EndsAsShopDoes": {[]costing.Burden{burden(nell, 5*percent, day(1), day(-30)), ends(5)}, []money.Amount{10_00, 5_00, 5_00, 5_00, 5_00, 30_00, 30_00}},
		"OwnOnceMore":    {[]costing.Burden{burden(nell, 5*percent, day(0), day(-30)), ends(1), burden(nell, 7*percent, day(3), day(-30)), ends(6)}, []money.Amount{5_00, 10_00, 20_00, 7_00, 7_00, 7_00, 30_00}},
		"NeverHadAny":    {[]costing.Burden{ends(3)}, []money.Amount{10_00, 10_00, 20_00, 20_00, 20_00, 30_00, 30_00}},
	} {
		terms := costing.NewTerms([]costing.Rate{rate(100_00, day(-30), day(-30))}, append(c.own, shop...), nil)
		for n, want := range c.want {
			s := nells(day(n), time.Hour)
			b := costing.NewBook(costing.Standard())
			b.Work(s, terms)
			if got := b.Of(s.Piece).Burden; got != want {
				t.Errorf("%s: the burden of day %d is %d, want %d", name, n, got, want)
			}
		}
	}
}
