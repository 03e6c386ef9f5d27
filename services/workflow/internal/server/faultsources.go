package server

import (
	"context"
	"path"
	"slices"
	"strings"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// GetComebackEvidence implements ComebackService. What materials knows is asked after the floor's own was read.
func (s *Server) GetComebackEvidence(ctx context.Context, r *workflowv1.GetComebackEvidenceRequest) (*workflowv1.GetComebackEvidenceResponse, error) {
	comeback, err := id.One("comeback", r.Comeback, "comebacks")
	if err != nil {
		return nil, err
	}
	var b returning
	var w workflow.Witness
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if b.Comeback, err = st.Comeback(ctx, comeback); err != nil {
			return err
		}
		if b.plan, err = st.Plan(ctx, b.Piece); err != nil {
			return err
		}
		w, err = st.Witness(ctx, []id.ID{b.Piece})
		return err
	})
	if err != nil {
		return nil, err
	}
	if w.Products, err = s.products(ctx, laid(b.plan.Stages)); err != nil {
		return nil, err
	}
	if w.Lots, err = s.lotsOn(ctx, id.Name("pieces", b.Piece)); err != nil {
		return nil, err
	}
	facts, err := b.plan.Evidence(b.Comeback, w)
	out := &workflowv1.GetComebackEvidenceResponse{}
	for _, f := range facts {
		out.Facts = append(out.Facts, encodeEvidence(b.Piece, f))
	}
	return out, err
}

// laid asks for the products of stages, of which one may be gone.
func laid(stages []workflow.Stage) (asked []askedFor) {
	for _, stage := range stages {
		if stage.Product != id.Nil {
			asked = append(asked, askedFor{product: stage.Product})
		}
	}
	return asked
}

// lotsOn asks materials which lots went to stages and were not taken back, by stage; of all pieces where none is named.
func (s *Server) lotsOn(ctx context.Context, piece string) (map[id.ID][]string, error) {
	lots := map[id.ID][]string{}
	for r := (&materialsv1.ListIssuesRequest{Piece: piece, PageSize: 500}); ; {
		resp, err := s.Materials.ListIssues(ctx, r)
		if err != nil {
			return nil, err
		}
		for _, i := range resp.Issues {
			stage, err := id.Parse(path.Base(i.Stage))
			if err != nil || i.TakenBack {
				continue // it went to no stage
			}
			for _, d := range i.Draws {
				if !slices.Contains(lots[stage], d.Lot) {
					lots[stage] = append(lots[stage], d.Lot)
				}
			}
		}
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			return lots, nil
		}
	}
}

var verdicts = map[workflowv1.GetComebackEvidenceResponse_Fact_Verdict]workflow.Verdict{
	workflowv1.GetComebackEvidenceResponse_Fact_VERDICT_WITHIN: workflow.WithinLimits, workflowv1.GetComebackEvidenceResponse_Fact_VERDICT_OUTSIDE: workflow.OutsideLimits,
}

func encodeEvidence(piece id.ID, e workflow.Evidence) *workflowv1.GetComebackEvidenceResponse_Fact {
	out := &workflowv1.GetComebackEvidenceResponse_Fact{Stage: id.Name("pieces", piece, "stages", e.Stage.ID), StageTitle: e.Stage.Title(), StageKind: e.Stage.Kind,
		FinishTime: wire.ToInstant(e.Stage.FinishedAt), Product: productName(e.Stage.Product), ProductName: e.Stage.ProductName, Lots: e.Lots, Air: key(verdicts, e.AirIs), AirNote: e.AirNote,
		CoatBelow: e.Coat, Recoat: key(verdicts, e.Recoat), RecoatNote: e.Note, Passes: e.Stage.Pass()}
	for _, h := range e.Hands {
		out.People, out.PersonNames = append(out.People, id.Name("people", h.Person)), append(out.PersonNames, h.Name)
	}
	if e.Air != nil {
		celsius, humidity := e.Air.Celsius(), e.Air.Humidity()
		out.Celsius, out.HumidityPercent = &celsius, &humidity
	}
	if e.Coat != "" {
		out.Waited, out.Wanted = durationpb.New(e.Waited), durationpb.New(e.Wanted)
	}
	return out
}

var faultsBy = map[workflowv1.ListFaultSourcesRequest_By]workflow.FaultsBy{
	workflowv1.ListFaultSourcesRequest_BY_PRODUCT: workflow.FaultsByProduct, workflowv1.ListFaultSourcesRequest_BY_LOT: workflow.FaultsByLot,
	workflowv1.ListFaultSourcesRequest_BY_STAGE_KIND: workflow.FaultsByKind, workflowv1.ListFaultSourcesRequest_BY_WORKER: workflow.FaultsByWorker,
	workflowv1.ListFaultSourcesRequest_BY_CLIMATE: workflow.FaultsByClimate, workflowv1.ListFaultSourcesRequest_BY_FAULT: workflow.FaultsByFault,
	workflowv1.ListFaultSourcesRequest_BY_JUDGED_SOURCE: workflow.FaultsBySource,
}

// ListFaultSources implements ComebackService.
func (s *Server) ListFaultSources(ctx context.Context, r *workflowv1.ListFaultSourcesRequest) (*workflowv1.ListFaultSourcesResponse, error) {
	from, to, err := between(r.FromTime, r.ToTime)
	if err != nil {
		return nil, err
	}
	span := store.Span{From: from, To: to}
	by := faultsBy[r.By]
	var sold []workflow.SoldPiece
	var back []workflow.Comeback
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if sold, err = st.SoldIn(ctx, span); err != nil {
			return err
		}
		back, err = st.ComebacksIn(ctx, sold, span)
		return err
	})
	if err == nil {
		err = s.askAbout(ctx, by, sold)
	}
	if err != nil {
		return nil, err
	}
	lines, err := workflow.FaultSources(by, sold, back)
	out := &workflowv1.ListFaultSourcesResponse{Sold: int32(len(sold)), Comebacks: int32(len(back))}
	for _, l := range lines {
		out.Lines = append(out.Lines, encodeFaultSource(by, l))
	}
	return out, err
}

// askAbout asks materials what of it is counted by.
func (s *Server) askAbout(ctx context.Context, by workflow.FaultsBy, sold []workflow.SoldPiece) (err error) {
	var lots map[id.ID][]string
	var products []workflow.PlanProduct
	switch by {
	case workflow.FaultsByLot:
		lots, err = s.lotsOn(ctx, "")
	case workflow.FaultsByClimate:
		var asked []askedFor
		for _, p := range sold {
			asked = append(asked, laid(p.Stages)...)
		}
		products, err = s.products(ctx, asked)
	}
	for i := range sold {
		sold[i].Lots, sold[i].Products = lots, products
	}
	return err
}

func encodeFaultSource(by workflow.FaultsBy, l workflow.FaultSource) *workflowv1.ListFaultSourcesResponse_Line {
	out := &workflowv1.ListFaultSourcesResponse_Line{Key: l.Key, Title: l.Title, Comebacks: int32(len(l.Comebacks)), PiecesBack: int32(l.PiecesBack), Exposed: int32(l.Exposed),
		Rate: l.Rate(), RateLow: l.Low, RateHigh: l.High, Few: l.Few(), ReworkTime: durationpb.New(l.Rework)}
	if by == workflow.FaultsByLot {
		out.Title = strings.TrimSpace(l.Title + " " + lotTail(l.Key))
	}
	for _, c := range l.Comebacks {
		out.ComebackNames = append(out.ComebackNames, id.Name("comebacks", c.ID))
	}
	return out
}

// lotTail tells lots of one product apart for people: the end of its id.
func lotTail(name string) string {
	base := path.Base(name)
	return base[max(0, len(base)-6):]
}
