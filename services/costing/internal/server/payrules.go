package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// SetPayRule implements PayRuleService. The rule is recorded while nothing else is booked, and what
// was worked since it begins is settled by it; what that changes of locked weeks and closed months counts
// late, where the request says that it may.
func (s *Server) SetPayRule(ctx context.Context, r *costingv1.SetPayRuleRequest) (*costingv1.SetPayRuleResponse, error) {
	now := s.now()
	rule, err := s.decodeRule(r.PayRule)
	if err != nil {
		return nil, err
	}
	rule.Actor = caller.Of(ctx).Actor
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*costingv1.SetPayRuleResponse, error) {
		s.Keeper.Freeze(ctx, tx)
		rule, st := rule, store.New(tx)
		if err := ruleAlone(ctx, st, rule, r.Replaces, s.Shop.Zone); err != nil {
			return nil, err
		}
		at, err := recordedAt(ctx, st, id.Nil, now)
		if err != nil {
			return nil, err
		}
		rule.RecordedAt = at
		if err := st.InsertPayRule(ctx, rule); err != nil {
			return nil, err
		}
		b, err := s.reopen(ctx, st, rule)
		if err != nil {
			return nil, err
		}
		if err := s.keep(ctx, tx, b, now); err != nil {
			return nil, err
		}
		if !r.PayLate {
			err = s.inTime(ctx, st, "pay_rule.effective_date", costing.WeekOf(rule.Monday, s.Shop.Zone).From, b)
		}
		return &costingv1.SetPayRuleResponse{PayRule: encodeRule(rule)}, err
	})
}

// ruleAlone refuses a second rule from one week on that does not say that it replaces the first. Fault:
// RULE_OVERLAPS.
func ruleAlone(ctx context.Context, st store.Store, rule costing.PayRule, replaces bool, zone *time.Location) error {
	rules, err := st.PayRules(ctx)
	if err != nil || replaces {
		return err
	}
	for _, known := range rules {
		if known.Monday.Equal(rule.Monday) {
			return fault.New(fault.Exists, "RULE_OVERLAPS", "There is a rule from the week of %s on, as %s set it on %s. Say that the new one replaces it (replaces, or --replace), or give another week.",
				dayOf(known.Monday), known.Actor, dayOf(known.RecordedAt.In(zone))).At("pay_rule.effective_date").With("effective_date", dayOf(known.Monday))
		}
	}
	return nil
}

// reopen makes a book in which the weeks since a rule begins are to be settled anew.
func (s *Server) reopen(ctx context.Context, st store.Store, rule costing.PayRule) (*costing.Book, error) {
	b := costing.NewBook(s.Keeper.Rules)
	from := costing.WeekOf(rule.Monday, s.Shop.Zone).From.Add(-labour.MaxBreak)
	stretches, err := st.StretchesAfter(ctx, id.Nil, from)
	if err != nil {
		return b, err
	}
	terms, err := st.Terms(ctx, workers(stretches))
	for _, stretch := range stretches {
		b.Reopen(stretch, terms, costing.Cause{ID: rule.ID, Event: rule.ID, RecordedAt: rule.RecordedAt})
	}
	return b, err
}

func (s *Server) decodeRule(r *costingv1.PayRule) (rule costing.PayRule, err error) {
	length := func(d *durationpb.Duration) time.Duration { return d.AsDuration().Truncate(time.Millisecond) }
	rule = costing.PayRule{ID: id.New(), Rule: labour.Rule{
		WeeklyAfter: length(r.GetWeeklyOvertimeAfter()), DailyAfter: length(r.GetDailyOvertimeAfter()), Percent: int64(r.GetOvertimePercent()),
		PaidBreak: length(r.GetPaidBreak()), RoundTo: length(r.GetRoundTo()), ToOverhead: r.GetPremiumToOverhead()}}
	if rule.Monday, _, err = s.bookDay("pay_rule.effective_date", r.GetEffectiveDate()); err != nil {
		return rule, err
	}
	if monday := costing.WeekOf(rule.Monday, s.Shop.Zone).Monday; !monday.Equal(rule.Monday) {
		return rule, fault.New(fault.Invalid, "RULE_NOT_MONDAY", "A rule holds for whole weeks, and weeks begin on Monday at midnight of the shop's zone; %s is a %s. Give %s or %s.",
			dayOf(rule.Monday), rule.Monday.Weekday(), dayOf(monday), dayOf(monday.AddDate(0, 0, 7))).At("pay_rule.effective_date")
	}
	return rule, rule.Check()
}

func encodeRule(r costing.PayRule) *costingv1.PayRule {
	length := func(d time.Duration) *durationpb.Duration {
		if d == 0 {
			return nil
		}
		return durationpb.New(d)
	}
	return &costingv1.PayRule{EffectiveDate: wire.ToDay(r.Monday), WeeklyOvertimeAfter: length(r.WeeklyAfter), DailyOvertimeAfter: length(r.DailyAfter),
		OvertimePercent: int32(r.Percent), PaidBreak: length(r.PaidBreak), RoundTo: length(r.RoundTo), PremiumToOverhead: r.ToOverhead,
		Actor: r.Actor, CreateTime: wire.ToInstant(r.RecordedAt)}
}

// ListPayRules implements PayRuleService.
func (s *Server) ListPayRules(ctx context.Context, r *costingv1.ListPayRulesRequest) (*costingv1.ListPayRulesResponse, error) {
	all, next, err := records(ctx, s, r, func(r costing.PayRule) id.ID { return r.ID }, func(st store.Store, after id.ID, limit int32) ([]costing.PayRule, error) {
		return st.ListPayRules(ctx, after, limit)
	})
	if err != nil {
		return nil, err
	}
	return &costingv1.ListPayRulesResponse{PayRules: encoded(all, encodeRule), NextPageToken: next}, nil
}
