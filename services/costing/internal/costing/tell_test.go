package costing_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// posted are the lines of a transaction as they stand in the ledger.
func posted(t costing.Transaction) (out []costing.Posted) {
	for i, l := range t.Lines {
		out = append(out, costing.Posted{Line: l, Transaction: t.ID, Number: int16(i + 1), Event: t.Event, Group: t.Group, OccurredAt: t.OccurredAt, RecordedAt: t.RecordedAt})
	}
	return out
}

// says are the words of a transaction's lines, each once.
func says(t costing.Transaction, labour ...costing.Stretch) string {
	return costing.Describe(costing.Standard().Tell(posted(t), posted(t), labour, nil, nil, nil))
}

// Of a transaction that a rule booked, each line says what that rule says.
func TestRules_Tell_EachRuleIsFound(t *testing.T) {
	rules, ofGroups := costing.Standard(), []string{"paid_break", "clock_rounded", "premium", "premium_again", "premium_on_no_piece", "premium_as_overhead", "burden_as_overhead",
		"stands_finished", "stands_sold", "stands_lost"}
	for _, name := range rules.Rules() {
		if slices.Contains(ofGroups, name) || name == "deposit_used" { // which is told by the sale beside it; see TestBook_Deposit
			continue
		}
		rule, event := rules.Rule(name), id.New()
		amounts := make([]money.Amount, len(rule.Amounts))
		for i := range amounts {
			amounts[i] = money.Amount(10 * (i + 1))
		}
		tx := costing.Transaction{ID: event, Event: event}
		for _, l := range rule.Lines(amounts...) {
			tx.Lines = append(tx.Lines, costing.Line{Account: l.Account, Bucket: costing.Bucket(l.Sheet), Amount: l.Amount})
		}
		if got := says(tx); got != rule.Says {
			t.Errorf("%s says %q, want %q", name, got, rule.Says)
		}
	}
}

// A stretch with burden and overhead on it says what each is; a correction, that it takes the work away.
func TestRules_Tell_Labour(t *testing.T) {
	b, nell, piece := costing.NewBook(costing.Standard()), id.New(), id.New()
	terms := costing.NewTerms([]costing.Rate{{ID: id.New(), Person: nell, From: monday.AddDate(0, -1, 0), PerHour: 20_00}},
		[]costing.Burden{{ID: id.New(), From: monday.AddDate(0, -1, 0), Share: 76_500}}, nil)
	s := costing.Stretch{Fact: fact(piece), Sign: 1, Entry: id.New(), Person: nell, PersonName: "Nell", Stage: id.New(), StageKind: "sand", StageKey: "sand-fine", Start: monday, End: monday.Add(time.Hour)}
	b.Work(s, terms)
	away := s
	away.Sign = -1
	b.Work(away, terms)
	on := "Somebody works on a stage of a piece. The employer's share on work on a piece."
	if got := says(b.Transactions[0], s, away); got != on {
		t.Errorf("the work says %q, want %q", got, on)
	}
	want := "A correction takes it away. Somebody works on a stage of a piece. A correction takes it away. The employer's share on work on a piece."
	if got := says(b.Transactions[1], s, away); got != want {
		t.Errorf("its removal says %q, want %q", got, want)
	}
	told := costing.Standard().Tell(posted(b.Transactions[0]), posted(b.Transactions[0]), []costing.Stretch{s, away}, nil, nil, nil)
	if l := told[0]; l.PersonName != "Nell" || l.StageKey != "sand-fine" || !l.Start.Equal(s.Start) || !l.End.Equal(s.End) {
		t.Errorf("its line = %+v", l)
	}
}

// What is booked under an event without being the event itself says why it is there.
func TestRules_Tell_WhatComesAfterwards(t *testing.T) {
	b, piece := costing.NewBook(costing.Standard()), id.New()
	b.Issue(fact(piece).Of(id.New(), monday), 50, "sand", false)
	b.Refund(fact(piece), 100, 10, 5, false)
	if got, want := says(b.Transactions[0]), "It turns out to have cost another amount. Material goes to a piece; below zero it comes back."; got != want {
		t.Errorf("a recosting says %q, want %q", got, want)
	}
	if got, want := says(b.Transactions[1]), "A sale is taken back, or a part of its price."; got != want {
		t.Errorf("a refund says %q, want %q", got, want)
	}
}

// A price that is put right says that the old one is taken away and the new one added, and why; so
// does that of a lot, of each of its pieces.
func TestRules_Tell_Purchases(t *testing.T) {
	b, piece, lot := costing.NewBook(costing.Standard()), id.New(), ids(2)
	b.CorrectPurchase(fact(piece), 45_50, 42_00, "the receipt")
	b.CorrectLotPrice(lotOf(1, 2, 130_00, false, lot, 1, 1), 100_00, "the premium")
	tell := func(tx costing.Transaction) string {
		return costing.Describe(costing.Standard().Tell(posted(tx), posted(tx), nil, nil, b.Reasons, nil))
	}
	bought := costing.Standard().Rule("piece_bought").Says
	for i, want := range []string{
		"A correction takes the price away (the receipt). ", "A correction gives the price anew (the receipt). ",
		"A correction takes the price away (the premium). ", "A correction gives the price anew (the premium). ",
	} {
		if got, want := tell(b.Transactions[i]), want+bought; got != want {
			t.Errorf("transaction %d says %q, want %q", i, got, want)
		}
	}
	g := costing.Transaction{Event: b.Transactions[2].Event, Group: costing.Group{Kind: costing.JointCost}, Lines: []costing.Line{{Account: "cash_clearing"}}}
	if got, want := tell(g), "What was bought together at one price is split."; got != want {
		t.Errorf("what follows from the lot says %q, want %q", got, want)
	}
}

// What several events decide says what it follows from, also in groups that this program has no words for.
func TestRules_Tell_Groups(t *testing.T) {
	line := func(kind costing.GroupKind, account costing.Account, bucket costing.Bucket) costing.Told {
		l := costing.Posted{Line: costing.Line{Account: account, Bucket: bucket}, Group: costing.Group{Kind: kind, ID: id.New()}, OccurredAt: monday.AddDate(0, 0, 4)}
		return costing.Standard().Tell([]costing.Posted{l}, nil, nil, nil, nil, nil)[0]
	}
	for _, c := range []struct {
		told              costing.Told
		says, followsFrom string
	}{
		{line(costing.Place, "finished_goods", ""), "The cost of the piece goes to where it stands now.", "the costs, stages and sales of the piece"},
		{line(costing.PayWeek, "work_in_process", costing.Premium), costing.Standard().Rule("premium").Says, "the workweek of 2026-03-02 and its pay rule"},
		{line(costing.PayWeek, "wages_payable", ""), "What a workweek comes to beside its hours.", "the workweek of 2026-03-02 and its pay rule"},
		{line(costing.Machine, "overhead_applied", ""), "A machine hour carries its share of rent, power and tools.", "all work on the stage"},
		{line(costing.JointCost, "cash_clearing", ""), "What was bought together at one price is split.", "the purchase and what its pieces count for"},
		{line("a later one", "cash_clearing", ""), "Several events decide it together.", "several events"},
	} {
		if c.told.Says != c.says || c.told.FollowsFrom != c.followsFrom {
			t.Errorf("it says %q by %q, want %q by %q", c.told.Says, c.told.FollowsFrom, c.says, c.followsFrom)
		}
	}
}

// Overhead that was spent is told in the words in which it was entered, on both sides of it, and nothing else is.
func TestRules_Tell_OverheadAsItWasEntered(t *testing.T) {
	b := costing.NewBook(costing.Standard())
	rent := costing.OverheadActual{ID: id.New(), At: monday, What: "Rent of March", Amount: 1_200_00, RecordedAt: monday}
	blade := costing.OverheadActual{ID: id.New(), At: monday, What: "Saw blade", Note: "10 inch", Amount: 80_00, RecordedAt: monday}
	back := costing.OverheadActual{ID: id.New(), At: monday, What: "Rent of March", Amount: -1_200_00, TakesBack: rent.ID, Reason: "entered twice", RecordedAt: monday}
	spent := []costing.OverheadActual{rent, blade, back}
	for _, a := range spent {
		b.SpendOverhead(a)
	}
	b.TakeIn(fact(id.New()), 10_00)
	want := []string{"Rent of March", "Saw blade (10 inch)", "Rent of March is taken back: entered twice", "A piece that was bought for stock is taken in."}
	for i, tx := range b.Transactions {
		if got := costing.Describe(costing.Standard().Tell(posted(tx), posted(tx), nil, spent, nil, nil)); got != want[i] {
			t.Errorf("transaction %d says %q, want %q", i, got, want[i])
		}
	}
}
