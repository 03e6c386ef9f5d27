package money

import (
	"context"
	"strconv"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// hand is what is unfinished or unsold, how long it is here, and what of the shop's money is in what.
type hand struct {
	Process process
	Tied    tied
}

type process struct {
	counts
	Missing    bands.Missing
	Pieces     []*costingv1.PieceInHand
	Total      *costingv1.CostSums
	Unfinished int
	Finished   int
	Accounts   []*costingv1.AccountBalance
	Ages       chart
}

type tied struct {
	Missing bands.Missing
	*costingv1.GetCashTiedUpResponse
}

func loadHand(a *web.Asked) (it hand, err error) {
	var reading errgroup.Group
	reading.Go(func() (err error) {
		it.Process, err = loadProcess(a)
		return err
	})
	reading.Go(func() (err error) {
		it.Tied.GetCashTiedUpResponse, err = a.Kit.Suite.Answers.GetCashTiedUp(a.Context(), &costingv1.GetCashTiedUpRequest{Pieces: 1})
		return it.Tied.Missing.Of(err)
	})
	return it, reading.Wait()
}

func loadProcess(a *web.Asked) (it process, err error) {
	it.Pieces, err = clients.All(a.Context(), func(ctx context.Context, token string) ([]*costingv1.PieceInHand, string, error) {
		r, err := a.Kit.Suite.Answers.ListWorkInProcess(ctx, &costingv1.ListWorkInProcessRequest{PageSize: pageSize, PageToken: token})
		if err == nil {
			it.Total, it.Unfinished, it.Finished, it.Accounts = r.Total, int(r.Unfinished), int(r.Finished), r.Accounts
		}
		return r.GetPieces(), r.GetNextPageToken(), err
	})
	if err != nil {
		return it, it.Missing.Of(err)
	}
	it.Ages = agesOf(a.Voice, it.Pieces)
	return it, nil
}

// agesOf draws for how many days each of the oldest is here.
func agesOf(v *words.Voice, pieces []*costingv1.PieceInHand) chart {
	oldest := pieces[:min(len(pieces), mostLaths)]
	bars := make([]bar, len(oldest))
	for i, p := range oldest {
		bars[i] = bar{Label: strconv.Itoa(int(p.Tag)) + " " + p.Title, Figure: v.N("money.days", int(p.DaysHere)), Value: int64(p.DaysHere), Known: true}
	}
	c := draw(bars, func(days int64) string { return strconv.FormatInt(days, 10) })
	c.LeftOut, c.Rest = len(pieces)-len(oldest), "money.younger"
	return c
}
