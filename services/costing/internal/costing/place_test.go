package costing_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// place moves the cost of all pieces of a book to where it stands.
func place(b *costing.Book) {
	for _, piece := range b.Touched() {
		var costs []costing.Cost
		for _, c := range b.Costs() {
			if c.Piece == piece {
				costs = append(costs, c)
			}
		}
		var marks []costing.Mark
		for _, m := range b.Marks {
			if m.Piece == piece {
				marks = append(marks, m)
			}
		}
		b.Settle(costing.Group{Kind: costing.Place, ID: piece}, b.Cause(piece), nil, b.Rules().Stand(piece, costs, marks))
	}
}

// stages makes a plan of a piece with so many stages.
func stages(piece id.ID, n int) (all []costing.Stage) {
	for range n {
		all = append(all, costing.Stage{ID: id.New(), Piece: piece, Kind: "sand", State: costing.StageOpen})
	}
	return all
}

// The accounts in which the cost of a piece can stand.
var standings = []costing.Account{costing.WorkInProcess, costing.Again, "finished_goods", "cost_of_goods_sold", "scrap_loss"}

// A piece's cost is in process until every stage is done, finished until it is sold, and comes back
// to where it was when the piece comes back; what was done again is apart only while in process.
func TestStand_ALife(t *testing.T) {
	piece := id.New()
	at := func(n int) costing.Fact {
		f := fact(piece)
		f.OccurredAt = monday.Add(time.Duration(n) * time.Hour)
		return f
	}
	b := costing.NewBook(costing.Standard())
	plan := stages(piece, 2)
	for n, step := range []struct {
		what string
		do   func(f costing.Fact)
		want [5]money.Amount // in process, again, finished, sold, lost
	}{
		{"bought", func(f costing.Fact) { b.TakeIn(f, 40_00) }, [5]money.Amount{40_00}},
		{"planned", func(f costing.Fact) { b.PlanStages(f, plan) }, [5]money.Amount{40_00}},
		{"sanded", func(f costing.Fact) { b.Issue(f, 5_00, "sand", false) }, [5]money.Amount{45_00}},
		{"one done", func(f costing.Fact) { b.SetStages(f, costing.StageDone, plan[0].ID) }, [5]money.Amount{45_00}},
		{"all done", func(f costing.Fact) { b.SetStages(f, costing.StageDone, plan[1].ID) }, [5]money.Amount{0, 0, 45_00}},
		{"sent back", func(f costing.Fact) { b.SetStages(f, costing.StageOpen, plan[1].ID) }, [5]money.Amount{45_00}},
		{"again", func(f costing.Fact) { b.Issue(f, 2_00, "sand", true) }, [5]money.Amount{45_00, 2_00}},
		{"done again", func(f costing.Fact) { b.SetStages(f, costing.StageDone, plan[1].ID) }, [5]money.Amount{0, 0, 47_00}},
		{"sold", func(f costing.Fact) { b.Sell(f, 100_00, 0, 0) }, [5]money.Amount{0, 0, 0, 47_00}},
		{"a late bill", func(f costing.Fact) { b.Bill(f, 9_00, false) }, [5]money.Amount{0, 0, 0, 56_00}},
		{"came back", func(f costing.Fact) { b.Refund(f, 100_00, 0, 0, true) }, [5]money.Amount{0, 0, 56_00}},
		{"another stage", func(f costing.Fact) { b.PlanStages(f, stages(piece, 1)) }, [5]money.Amount{54_00, 2_00}},
		{"given up", func(f costing.Fact) { b.Scrap(f) }, [5]money.Amount{0, 0, 0, 0, 56_00}},
	} {
		step.do(at(n))
		whole := *b
		place(&whole)
		for i, a := range standings {
			if got := balance(&whole, a); got != step.want[i] {
				t.Errorf("%s: %s = %d, want %d", step.what, a, got, step.want[i])
			}
		}
	}
}

// Whatever becomes of a piece and in whatever order it becomes known, in steps or at once: its cost
// stands in one place, all of it, at every instant, and each account comes to the same.
func TestSettle_StepsDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		piece := id.New()
		var do []func(b *costing.Book)
		for range rapid.IntRange(1, 10).Draw(t, "events") {
			f := fact(piece)
			f.OccurredAt = monday.Add(time.Duration(rapid.IntRange(0, 5).Draw(t, "hour")) * time.Hour)
			amount, again := money.Amount(rapid.Int64Range(-500, 10_000).Draw(t, "amount")), rapid.Bool().Draw(t, "again")
			do = append(do, map[int]func(b *costing.Book){
				0: func(b *costing.Book) { b.Issue(f, amount, "sand", again) },
				1: func(b *costing.Book) { b.Sell(f, 1, 0, 0) },
				2: func(b *costing.Book) { b.Refund(f, 1, 0, 0, true) },
				3: func(b *costing.Book) { b.Scrap(f) },
				4: func(b *costing.Book) { b.Marks = append(b.Marks, costing.Mark{Fact: f, Kind: costing.MarkFinished}) },
			}[rapid.IntRange(0, 4).Draw(t, "kind")])
		}
		atOnce := costing.NewBook(costing.Standard())
		for _, d := range do {
			d(atOnce)
		}
		want := net(inSteps(piece, [][]func(*costing.Book){do}))
		var steps [][]func(*costing.Book)
		for order := rapid.Permutation(do).Draw(t, "order"); len(order) > 0; {
			n := rapid.IntRange(1, len(order)).Draw(t, "step")
			steps, order = append(steps, order[:n]), order[n:]
		}
		got := net(inSteps(piece, steps))
		if len(got) != len(want) {
			t.Fatalf("in steps %v, at once %v", got, want)
		}
		for k, amount := range want {
			if got[k] != amount {
				t.Fatalf("%v: in steps %d, at once %d", k, got[k], amount)
			}
		}
		oneStanding(t, got, atOnce.Of(piece).Cost())
	})
}

// inSteps lets books know of a piece step by step and settles it after each, as the store does.
func inSteps(piece id.ID, steps [][]func(*costing.Book)) (all []costing.Transaction) {
	var costs []costing.Cost
	var marks []costing.Mark
	var posted []costing.Dated
	for _, step := range steps {
		b := costing.NewBook(costing.Standard())
		for _, d := range step {
			d(b)
		}
		costs, marks = append(costs, b.Costs()...), append(marks, b.Marks...)
		before := len(b.Transactions)
		b.Settle(costing.Group{Kind: costing.Place, ID: piece}, costing.Cause{ID: id.New()}, posted, b.Rules().Stand(piece, costs, marks))
		for _, tx := range b.Transactions[before:] {
			for _, l := range tx.Lines {
				posted = append(posted, costing.Dated{At: tx.OccurredAt, Line: l})
			}
		}
		all = append(all, b.Transactions...)
	}
	return all
}

type accountAt struct {
	account costing.Account
	at      time.Time
}

// net adds lines up by account and instant, and leaves out what is nothing.
func net(all []costing.Transaction) map[accountAt]money.Amount {
	out := map[accountAt]money.Amount{}
	for _, tx := range all {
		for _, l := range tx.Lines {
			k := accountAt{l.Account, tx.OccurredAt}
			if out[k] += l.Amount; out[k] == 0 {
				delete(out, k)
			}
		}
	}
	return out
}

// oneStanding checks that what stands anywhere in the end is the cost, in one place.
func oneStanding(t *rapid.T, net map[accountAt]money.Amount, cost money.Amount) {
	sums := map[costing.Account]money.Amount{}
	for k, amount := range net {
		sums[k.account] += amount
	}
	inProcess := sums[costing.WorkInProcess] + sums[costing.Again]
	places := 0
	for _, a := range []money.Amount{inProcess, sums["finished_goods"], sums["cost_of_goods_sold"], sums["scrap_loss"]} {
		if a != 0 {
			places++
		}
	}
	if all := inProcess + sums["finished_goods"] + sums["cost_of_goods_sold"] + sums["scrap_loss"]; all != cost || cost != 0 && places != 1 {
		t.Fatalf("a cost of %d stands in %v", cost, sums)
	}
}

// A piece can be sold and scrapped at the same moment, for no lock spans two services. Its
// cost then leaves work in process once: it is sold, and a loss only when it comes back.
func TestStand_SoldAndScrapped(t *testing.T) {
	for _, returned := range []bool{false, true} {
		b, piece := costing.NewBook(costing.Standard()), id.New()
		b.TakeIn(fact(piece), 4_550)
		b.Scrap(fact(piece))
		b.Sell(fact(piece), 9_000, 0, 0)
		if returned {
			b.Refund(fact(piece), 9_000, 0, 0, true)
		}
		place(b)
		sold, lost := money.Amount(4_550), money.Amount(0)
		if returned {
			sold, lost = 0, 4_550
		}
		if got := balance(b, "cost_of_goods_sold"); got != sold {
			t.Errorf("returned %v: cost of goods sold = %d, want %d", returned, got, sold)
		}
		if got := balance(b, "scrap_loss"); got != lost {
			t.Errorf("returned %v: scrap loss = %d, want %d", returned, got, lost)
		}
		if got := balance(b, costing.WorkInProcess); got != 0 {
			t.Errorf("returned %v: %d left in process", returned, got)
		}
	}
}
