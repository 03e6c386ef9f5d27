package server

import (
	"context"

	"tackfree/pkg/pg"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

var earned = map[costingv1.ListEarningsRequest_By]costing.EarnedBy{
	costingv1.ListEarningsRequest_BY_PIECE: costing.EachPiece, costingv1.ListEarningsRequest_BY_KIND: costing.OfKind, costingv1.ListEarningsRequest_BY_SOURCE: costing.OfSource,
	costingv1.ListEarningsRequest_BY_FINISH: costing.OfFinish, costingv1.ListEarningsRequest_BY_CHANNEL: costing.OfChannel,
	costingv1.ListEarningsRequest_BY_WORKERS: costing.OfWorkers, costingv1.ListEarningsRequest_BY_MONTH: costing.OfMonth,
}

// ListEarnings implements AnswerService.
func (s *Server) ListEarnings(ctx context.Context, r *costingv1.ListEarningsRequest) (*costingv1.ListEarningsResponse, error) {
	period, err := s.period(r.FromDate, r.ToDate)
	if err != nil {
		return nil, err
	}
	by := earned[r.By]
	var ended []costing.Sheet
	out := &costingv1.ListEarningsResponse{}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := s.sheets(q)
		if ended, err = st.Ended(ctx, period, by == costing.OfWorkers); err != nil {
			return err
		}
		returned, left, err := st.LeftByReturns(ctx, period)
		out.Returned, out.LeftByReturns = returned, s.Shop.ToMoney(left)
		return err
	})
	if err != nil {
		return nil, err
	}
	lines, total := costing.Earn(ended, by, s.Shop.Zone, s.Shop.Currency)
	out.Total = s.encodeEarning(total)
	lines, out.NextPageToken, err = pageOf(lines, r.PageToken, r.PageSize)
	for _, l := range lines {
		out.Lines = append(out.Lines, s.encodeEarning(l))
	}
	return out, err
}

var reworked = map[costingv1.ListReworkRequest_By]costing.ReworkBy{
	costingv1.ListReworkRequest_BY_STAGE_KIND: costing.AgainByStageKind, costingv1.ListReworkRequest_BY_DEFECT: costing.AgainByDefect,
	costingv1.ListReworkRequest_BY_FIRST_WORKER: costing.AgainByFirstWorker, costingv1.ListReworkRequest_BY_PIECE: costing.AgainByPiece,
	costingv1.ListReworkRequest_BY_MONTH: costing.AgainByMonth, costingv1.ListReworkRequest_BY_SOURCE: costing.AgainBySource, costingv1.ListReworkRequest_BY_COMEBACK: costing.AgainByComeback,
}

var reworkOf = map[costingv1.ListReworkRequest_Of]costing.ReworkOf{
	costingv1.ListReworkRequest_OF_SHOP: costing.OfShop, costingv1.ListReworkRequest_OF_COMEBACKS: costing.OfAllComebacks, costingv1.ListReworkRequest_OF_WARRANTY: costing.OfWarranty,
}

// ListRework implements AnswerService.
func (s *Server) ListRework(ctx context.Context, r *costingv1.ListReworkRequest) (*costingv1.ListReworkResponse, error) {
	period, err := s.period(r.FromDate, r.ToDate)
	if err != nil {
		return nil, err
	}
	by := reworked[r.By]
	var again costing.Reworked
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		again, err = store.New(q).Reworked(ctx, period, by == costing.AgainByFirstWorker)
		return err
	})
	if err != nil {
		return nil, err
	}
	lines, total := again.Only(reworkOf[r.Of]).By(by, s.Keeper.Rules)
	out := &costingv1.ListReworkResponse{Total: s.encodeRework(total)}
	lines, out.NextPageToken, err = pageOf(lines, r.PageToken, r.PageSize)
	for _, l := range lines {
		out.Lines = append(out.Lines, s.encodeRework(l))
	}
	return out, err
}
