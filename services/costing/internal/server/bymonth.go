package server

import (
	"cmp"
	"context"
	"slices"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
)

// profitByMonth adds to a profit and loss what each of its months comes to. A month's own figures are those of
// Months.Of, of which the whole is the sum, so the columns add up to the minor unit.
func (s *Server) profitByMonth(out *costingv1.GetProfitAndLossResponse, months *costing.Months, list []costing.Month) {
	var income, sold, expenses []ledger.Section
	for _, month := range list {
		e := s.Keeper.Rules.Earnings(months.Of(month).Balances())
		income, sold, expenses = append(income, e.Income), append(sold, e.CostSold), append(expenses, e.Expense)
		out.Months = append(out.Months, &costingv1.GetProfitAndLossResponse_Month{FirstDate: wire.ToDay(month.First), Closed: months.Closed(month),
			GrossProfit: s.Shop.ToMoney(e.Gross), Profit: s.Shop.ToMoney(e.Profit),
			Late: s.Shop.ToMoney(s.Keeper.Rules.Earnings(months.LateOf(month).Balances()).Profit)})
	}
	s.columns(out.Income, income)
	s.columns(out.CostOfSales, sold)
	s.columns(out.Expenses, expenses)
}

// balanceByMonth is what is owned and owed at the end of each of several months. Faults: TIME_OR_MONTHS,
// DATE_MALFORMED, DATE_ABSURD, MONTHS_REVERSED, TIME_IN_FUTURE.
func (s *Server) balanceByMonth(ctx context.Context, r *costingv1.GetBalanceSheetRequest) (*costingv1.GetBalanceSheetResponse, error) {
	if r.Time != nil {
		return nil, fault.New(fault.Invalid, "TIME_OR_MONTHS", "An instant and months were asked for; say one of the two.").At("time")
	}
	from, to, err := s.decodeMonths(r)
	if err != nil {
		return nil, err
	}
	now := s.now()
	if to.From.After(now) {
		return nil, fault.New(fault.Invalid, "TIME_IN_FUTURE", "%s has not begun; nobody knows what will be owned then.", to).At("to_month")
	}
	months, err := s.through(ctx, to)
	if err != nil {
		return nil, err
	}
	out := &costingv1.GetBalanceSheetResponse{}
	var assets, liabilities []ledger.Section
	var last ledger.Position
	for _, month := range months.Between(from, to) {
		last = s.Keeper.Rules.Position(months.UpTo(month).Balances())
		assets, liabilities = append(assets, last.Assets), append(liabilities, last.Liabilities)
		out.Time = wire.ToInstant(endOf(month, now))
		out.Months = append(out.Months, &costingv1.GetBalanceSheetResponse_Month{FirstDate: wire.ToDay(month.First), Time: out.Time, Earned: s.Shop.ToMoney(last.Earned)})
	}
	out.Assets, out.Liabilities, out.Earned = s.encodeSection(last.Assets), s.encodeSection(last.Liabilities), s.Shop.ToMoney(last.Earned)
	s.columns(out.Assets, assets)
	s.columns(out.Liabilities, liabilities)
	return out, nil
}

// endOf is the end of a month, or now.
func endOf(month costing.Month, now time.Time) time.Time {
	if month.To.After(now) {
		return now
	}
	return month.To
}

// columns adds to a section what each month has of it. What comes to nothing in all and not in each gets a line too.
func (s *Server) columns(out *costingv1.StatementSection, months []ledger.Section) {
	lines := map[ledger.Account]*costingv1.StatementSection_Line{}
	for _, l := range out.Lines {
		lines[ledger.Account(l.Account)] = l
	}
	for _, month := range months {
		for _, b := range month.Lines {
			if lines[b.Account] == nil {
				none := ledger.Section{Lines: []ledger.Balance{{Account: b.Account}}}
				lines[b.Account] = s.encodeSection(none).Lines[0]
				out.Lines = append(out.Lines, lines[b.Account])
			}
		}
	}
	slices.SortFunc(out.Lines, func(a, b *costingv1.StatementSection_Line) int {
		place := s.Keeper.Rules.Place
		return cmp.Or(cmp.Compare(place(ledger.Account(a.Account)), place(ledger.Account(b.Account))), cmp.Compare(a.Account, b.Account))
	})
	for _, month := range months {
		out.TotalsByMonth = append(out.TotalsByMonth, s.Shop.ToMoney(month.Total))
		for account, line := range lines {
			line.AmountsByMonth = append(line.AmountsByMonth, s.amountOf(month, account))
		}
	}
}

func (s *Server) amountOf(section ledger.Section, account ledger.Account) *moneyv1.Money {
	var amount money.Amount
	for _, b := range section.Lines {
		if b.Account == account {
			amount = b.Amount
		}
	}
	return s.Shop.ToMoney(amount)
}
