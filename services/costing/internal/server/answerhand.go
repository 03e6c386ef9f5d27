package server

import (
	"cmp"
	"context"
	"slices"

	"tackfree/pkg/ledger"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

var shows = map[costingv1.ListWorkInProcessRequest_Show]store.Show{
	costingv1.ListWorkInProcessRequest_SHOW_UNFINISHED: store.ShowUnfinished, costingv1.ListWorkInProcessRequest_SHOW_FINISHED: store.ShowFinished,
}

// ListWorkInProcess implements AnswerService.
func (s *Server) ListWorkInProcess(ctx context.Context, r *costingv1.ListWorkInProcessRequest) (*costingv1.ListWorkInProcessResponse, error) {
	var after *store.HandMark
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var pieces []costing.InHand
	out := &costingv1.ListWorkInProcessResponse{}
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := s.sheets(q)
		if pieces, err = st.InHand(ctx, shows[r.Show], after, size); err != nil {
			return err
		}
		sums, err := st.SumInHand(ctx)
		if err != nil {
			return err
		}
		out.Total, out.Finished, out.Unfinished = s.encodeSums(sums.Sums), sums.Finished, sums.Unfinished
		balances, err := st.Balances(ctx)
		out.Accounts = s.encodeBalances(unsold(balances))
		return err
	})
	if err != nil {
		return nil, err
	}
	out.NextPageToken = page.Next(pieces, size, func(p costing.InHand) any { return store.HandMark{CameAt: p.CameAt, Piece: p.Piece} })
	for _, p := range pieces {
		out.Pieces = append(out.Pieces, s.encodeInHand(p))
	}
	return out, nil
}

// unsold are the balances of the accounts in which the cost of pieces in hand stands, also of those that
// have none.
func unsold(balances []ledger.Balance) []ledger.Balance {
	out := make([]ledger.Balance, len(costing.Unsold))
	for i, account := range costing.Unsold {
		out[i].Account = account
		if n := slices.IndexFunc(balances, func(b ledger.Balance) bool { return b.Account == account }); n >= 0 {
			out[i] = balances[n]
		}
	}
	return out
}

// mostHolding bounds how many of the pieces that hold most are told.
const mostHolding = 100

// GetCashTiedUp implements AnswerService.
func (s *Server) GetCashTiedUp(ctx context.Context, r *costingv1.GetCashTiedUpRequest) (*costingv1.GetCashTiedUpResponse, error) {
	var balances []ledger.Balance
	var most []costing.InHand
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := s.sheets(q)
		if balances, err = st.Balances(ctx); err != nil {
			return err
		}
		most, err = st.Costliest(ctx, min(cmp.Or(r.Pieces, 5), mostHolding))
		return err
	})
	if err != nil {
		return nil, err
	}
	tied := s.Keeper.Rules.Tied(balances)
	out := &costingv1.GetCashTiedUpResponse{Tied: s.encodeTied(tied.In), Owed: s.encodeTied(tied.Owed), Total: s.Shop.ToMoney(tied.Total)}
	for _, p := range most {
		out.Pieces = append(out.Pieces, s.encodeInHand(p))
	}
	return out, nil
}

func (s *Server) encodeTied(balances []ledger.Balance) []*costingv1.GetCashTiedUpResponse_Account {
	var out []*costingv1.GetCashTiedUpResponse_Account
	for _, b := range balances {
		out = append(out, &costingv1.GetCashTiedUpResponse_Account{Account: string(b.Account), Title: s.Keeper.Rules.Entry(b.Account).Title, Amount: s.Shop.ToMoney(b.Amount)})
	}
	return out
}
