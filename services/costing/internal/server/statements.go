package server

import (
	"context"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/ledger"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// GetTrialBalance implements MonthService.
func (s *Server) GetTrialBalance(ctx context.Context, r *costingv1.GetTrialBalanceRequest) (*costingv1.GetTrialBalanceResponse, error) {
	at, balances, err := s.standing(ctx, r.Time)
	if err != nil {
		return nil, err
	}
	trial := s.Keeper.Rules.Trial(balances)
	out := &costingv1.GetTrialBalanceResponse{Time: wire.ToInstant(at), Debit: s.Shop.ToMoney(trial.Debit), Credit: s.Shop.ToMoney(trial.Credit)}
	for _, row := range trial.Rows {
		line := &costingv1.GetTrialBalanceResponse_Row{Account: string(row.Name), Number: row.Number, Title: row.Title}
		if row.Debit != 0 {
			line.Debit = s.Shop.ToMoney(row.Debit)
		} else {
			line.Credit = s.Shop.ToMoney(row.Credit)
		}
		out.Rows = append(out.Rows, line)
	}
	return out, nil
}

// standing reads what each account comes to at an instant, absent: now, and for which instant that is. Faults: TIME_IN_FUTURE,
// TIME_TOO_OLD.
func (s *Server) standing(ctx context.Context, r *timestamppb.Timestamp) (at time.Time, balances []ledger.Balance, err error) {
	if at, err = s.Shop.Instant("time", r); err != nil {
		return at, nil, err
	}
	until := at
	if r == nil {
		until = endless // all that is known, also of a clock that is a little ahead
	}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		closes, err := st.Closes(ctx, s.Shop.Zone)
		if err != nil {
			return err
		}
		stands := costing.StandingAt(costing.InForce(closes), until, s.Shop.Zone)
		switch {
		case stands.Open:
			balances, err = st.BalancesBefore(ctx, until)
			return err
		case stands.Of != nil:
			if balances, err = st.DaysBefore(ctx, stands.Of.ID, stands.Before); err != nil {
				return err
			}
			if err := s.within(ctx, st, &stands, at); err != nil {
				return err
			}
		}
		at, balances = stands.At, stands.Counted.With(balances).Balances()
		return nil
	})
	return at, balances, err
}

// within moves it from the beginning of a day of a closed month to an instant of the day, if what the close
// had counted up to there can be told.
func (s *Server) within(ctx context.Context, st store.Store, stands *costing.Standing, at time.Time) error {
	if !at.After(stands.At) {
		return nil
	}
	counted, err := st.OfDay(ctx, stands.Of.ID, stands.Before)
	if err != nil {
		return err
	}
	lines, err := st.DaySoFar(ctx, costing.PeriodOf(stands.Before, stands.Before, s.Shop.Zone), at)
	if err == nil {
		stands.Within(at, counted, lines)
	}
	return err
}

// GetBalanceSheet implements MonthService.
func (s *Server) GetBalanceSheet(ctx context.Context, r *costingv1.GetBalanceSheetRequest) (*costingv1.GetBalanceSheetResponse, error) {
	if r.FromMonth != nil || r.ToMonth != nil {
		return s.balanceByMonth(ctx, r)
	}
	at, balances, err := s.standing(ctx, r.Time)
	if err != nil {
		return nil, err
	}
	p := s.Keeper.Rules.Position(balances)
	return &costingv1.GetBalanceSheetResponse{Time: wire.ToInstant(at), Assets: s.encodeSection(p.Assets), Liabilities: s.encodeSection(p.Liabilities),
		Earned: s.Shop.ToMoney(p.Earned)}, nil
}

// GetProfitAndLoss implements MonthService.
func (s *Server) GetProfitAndLoss(ctx context.Context, r *costingv1.GetProfitAndLossRequest) (*costingv1.GetProfitAndLossResponse, error) {
	from, to, err := s.decodeMonths(r)
	if err != nil {
		return nil, err
	}
	months, err := s.through(ctx, to)
	if err != nil {
		return nil, err
	}
	e := s.Keeper.Rules.Earnings(months.Through(from, to).Balances())
	out := &costingv1.GetProfitAndLossResponse{FromMonth: wire.ToDay(from.First), ToMonth: wire.ToDay(to.First),
		Income: s.encodeSection(e.Income), CostOfSales: s.encodeSection(e.CostSold), Expenses: s.encodeSection(e.Expense),
		GrossProfit: s.Shop.ToMoney(e.Gross), Profit: s.Shop.ToMoney(e.Profit), Closed: months.Closed(to),
		Late: s.Shop.ToMoney(s.Keeper.Rules.Earnings(months.LateThrough(from, to).Balances()).Profit)}
	if r.ByMonth {
		s.profitByMonth(out, months, months.Between(from, to))
	}
	return out, nil
}

// through reads the books by month, as far as it takes to say what months come to up to one.
func (s *Server) through(ctx context.Context, last costing.Month) (months *costing.Months, err error) {
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		months, err = s.monthsThrough(ctx, store.New(q), last, s.Shop.Now())
		return err
	})
	return months, err
}

// asksMonths is a request for one or several months.
type asksMonths interface {
	GetFromMonth() *date.Date
	GetToMonth() *date.Date
}

// decodeMonths reads from which month to which; no second one is the same. Faults: DATE_MALFORMED, DATE_ABSURD,
// MONTHS_REVERSED.
func (s *Server) decodeMonths(r asksMonths) (from, to costing.Month, err error) {
	if from, err = s.decodeMonth("from_month", r.GetFromMonth()); err != nil || r.GetToMonth() == nil {
		return from, from, err
	}
	if to, err = s.decodeMonth("to_month", r.GetToMonth()); err == nil && to.First.Before(from.First) {
		err = fault.New(fault.Invalid, "MONTHS_REVERSED", "%s comes before %s; say the earlier month first.", to, from).At("to_month")
	}
	return from, to, err
}

func (s *Server) encodeSection(of ledger.Section) *costingv1.StatementSection {
	out := &costingv1.StatementSection{Total: s.Shop.ToMoney(of.Total)}
	for _, l := range of.Lines {
		e := s.Keeper.Rules.Entry(l.Account)
		out.Lines = append(out.Lines, &costingv1.StatementSection_Line{Account: string(l.Account), Number: e.Number, Title: e.Title, Amount: s.Shop.ToMoney(l.Amount)})
	}
	return out
}

// GetAccountRules implements MonthService.
func (s *Server) GetAccountRules(context.Context, *costingv1.GetAccountRulesRequest) (*costingv1.GetAccountRulesResponse, error) {
	rules := s.Keeper.Rules
	out := &costingv1.GetAccountRulesResponse{Own: rules.Own(), Yaml: rules.Text}
	for _, e := range rules.Entries {
		out.Accounts = append(out.Accounts, &costingv1.GetAccountRulesResponse_Account{Account: string(e.Name), Number: e.Number, Title: e.Title, Kind: string(e.Kind)})
	}
	for _, name := range rules.Rules() {
		r := rules.Rule(name)
		out.Rules = append(out.Rules, &costingv1.GetAccountRulesResponse_Rule{Rule: name, Says: r.Says, Amounts: r.Amounts, Debits: worded(r.Debits), Credits: worded(r.Credits)})
	}
	return out, nil
}

func worded(lines []ledger.Wording) (out []*costingv1.GetAccountRulesResponse_Line) {
	for _, l := range lines {
		out = append(out, &costingv1.GetAccountRulesResponse_Line{Account: string(l.Account), Amount: l.Amount, Sheet: l.Sheet})
	}
	return out
}
