package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// Terms reads all that prices the labour of some people. Pay rules are read only where there are any.
func (s Store) Terms(ctx context.Context, people []id.ID) (*costing.Terms, error) {
	if len(people) == 0 {
		return costing.NewTerms(nil, nil, nil), nil
	}
	rows, err := s.q.TermsOf(ctx, people)
	if err != nil {
		return nil, err
	}
	var rates []costing.Rate
	var burdens []costing.Burden
	var overheads []costing.OverheadRate
	ruled := false
	for _, row := range rows {
		ruled = ruled || row.Ruled
		switch row.Kind {
		case "rate":
			rates = append(rates, costing.Rate{ID: row.ID, Person: row.PersonID, Day: row.EffectiveDay, From: row.EffectiveAt,
				PerHour: money.Amount(row.Value), Actor: row.Actor, RecordedAt: row.RecordedAt})
		case "burden":
			burdens = append(burdens, costing.Burden{ID: row.ID, Person: row.PersonID, Day: row.EffectiveDay, From: row.EffectiveAt,
				Share: row.Value, Ends: row.Ends, Actor: row.Actor, RecordedAt: row.RecordedAt})
		default:
			overheads = append(overheads, costing.OverheadRate{ID: row.ID, Department: row.Department, StageKinds: row.StageKinds, Basis: costing.Basis(row.Basis),
				PerHour: money.Amount(row.Value), Day: row.EffectiveDay, From: row.EffectiveAt, Actor: row.Actor, RecordedAt: row.RecordedAt})
		}
	}
	terms := costing.NewTerms(rates, burdens, overheads)
	if !ruled {
		return terms, nil
	}
	rules, err := s.PayRules(ctx)
	terms.SetPayRules(rules)
	return terms, err
}

// PayRules reads all that the shop ever paid by.
func (s Store) PayRules(ctx context.Context) ([]costing.PayRule, error) {
	rows, err := s.q.PayRules(ctx)
	return payRules(rows), err
}

// ListPayRules reads up to limit pay rules with a higher id.
func (s Store) ListPayRules(ctx context.Context, after id.ID, limit int32) ([]costing.PayRule, error) {
	rows, err := s.q.ListPayRules(ctx, storedb.ListPayRulesParams{After: after, PageLimit: limit})
	return payRules(rows), err
}

func payRules(rows []storedb.PayRule) []costing.PayRule {
	ms := func(n int64) time.Duration { return time.Duration(n) * time.Millisecond }
	list := make([]costing.PayRule, len(rows))
	for i, row := range rows {
		list[i] = costing.PayRule{ID: row.ID, Monday: row.Week, Actor: row.Actor, RecordedAt: row.RecordedAt, Rule: labour.Rule{
			WeeklyAfter: ms(row.WeeklyAfterMs), DailyAfter: ms(row.DailyAfterMs), Percent: row.OvertimePercent,
			PaidBreak: ms(row.PaidBreakMs), RoundTo: ms(row.RoundToMs), ToOverhead: row.ToOverhead}}
	}
	return list
}

// InsertPayRule writes a new pay rule.
func (s Store) InsertPayRule(ctx context.Context, r costing.PayRule) error {
	return s.q.InsertPayRule(ctx, storedb.InsertPayRuleParams{ID: r.ID, Week: r.Monday,
		WeeklyAfterMs: r.WeeklyAfter.Milliseconds(), DailyAfterMs: r.DailyAfter.Milliseconds(), OvertimePercent: r.Percent,
		PaidBreakMs: r.PaidBreak.Milliseconds(), RoundToMs: r.RoundTo.Milliseconds(), ToOverhead: r.ToOverhead, Actor: r.Actor, RecordedAt: r.RecordedAt})
}

// ListBurdens reads up to limit burdens with a higher id, of one person or of all (id.Nil).
func (s Store) ListBurdens(ctx context.Context, person, after id.ID, limit int32) ([]costing.Burden, error) {
	rows, err := s.q.ListBurdens(ctx, storedb.ListBurdensParams{Person: someone(person), After: after, PageLimit: limit})
	list := make([]costing.Burden, len(rows))
	for i, row := range rows {
		list[i] = fromBurden(row)
	}
	return list, err
}

// BurdenFrom reads the burden that a person, or everybody (id.Nil), has from a day on, as it was last
// recorded; false: none.
func (s Store) BurdenFrom(ctx context.Context, person id.ID, day time.Time) (b costing.Burden, found bool, err error) {
	rows, err := s.q.BurdenFrom(ctx, storedb.BurdenFromParams{Person: someone(person), Day: day})
	if err != nil || len(rows) == 0 {
		return b, false, err
	}
	return fromBurden(rows[0]), true, nil
}

// InsertBurden writes a new burden.
func (s Store) InsertBurden(ctx context.Context, b costing.Burden) error {
	return s.q.InsertBurden(ctx, storedb.InsertBurdenParams{ID: b.ID, PersonID: someone(b.Person), EffectiveDay: b.Day, EffectiveAt: b.From,
		Share: b.Share, Ends: b.Ends, Actor: b.Actor, RecordedAt: b.RecordedAt})
}

func fromBurden(row storedb.Burden) costing.Burden {
	return costing.Burden{ID: row.ID, Person: row.PersonID.UUID, Day: row.EffectiveDay, From: row.EffectiveAt,
		Share: row.Share, Ends: row.Ends, Actor: row.Actor, RecordedAt: row.RecordedAt}
}
