package server

import (
	"context"
	"strings"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// Finishes is what intake asks of workflow about finish plans.
type Finishes interface {
	GetFinishPlan(context.Context, *workflowv1.GetFinishPlanRequest, ...grpc.CallOption) (*workflowv1.GetFinishPlanResponse, error)
}

// Planning is what intake asks of workflow about days.
type Planning interface {
	SuggestPromiseDate(context.Context, *workflowv1.SuggestPromiseDateRequest, ...grpc.CallOption) (*workflowv1.SuggestPromiseDateResponse, error)
}

// SuggestEstimate implements CommissionService.
func (s *Server) SuggestEstimate(ctx context.Context, r *intakev1.SuggestEstimateRequest) (*intakev1.SuggestEstimateResponse, error) {
	about, err := s.subject(ctx, r)
	if err != nil {
		return nil, err
	}
	found, err := s.reckoned(ctx, r, about)
	if err != nil {
		return nil, err
	}
	lines, unpriced, err := intake.SuggestLines(found.labour, found.needs, about.terms)
	if err != nil {
		return nil, err
	}
	out := &intakev1.SuggestEstimateResponse{Draft: &intakev1.EstimateDraft{Lines: s.encodeLines(lines), TaxPercent: about.terms.Tax.String(), DepositPercent: about.terms.Deposit.String()}, Basis: found.basis}
	out.Basis.Unpriced = unpriced
	out.Draft.Promised, out.Basis.NoDay = s.suggestDay(ctx, r.Piece)
	for _, h := range found.labour.Hazards {
		out.Hazards = append(out.Hazards, &intakev1.Advice_Hazard{Id: h.ID, Says: h.Says})
	}
	return out, nil
}

// subject is what an estimate is suggested for.
type subject struct {
	piece *intake.Piece // nil: none was brought yet
	terms intake.CommissionTerms
}

// subject reads it. Faults: PIECE_NOT_FOUND, PIECE_NOT_A_CLIENTS.
func (s *Server) subject(ctx context.Context, r *intakev1.SuggestEstimateRequest) (out subject, err error) {
	var piece id.ID
	if r.Piece != "" {
		if piece, err = id.One("piece", r.Piece, "pieces"); err != nil {
			return out, err
		}
	}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if out.terms, err = st.CommissionTerms(ctx); err != nil || piece == id.Nil {
			return err
		}
		p, err := st.Get(ctx, piece)
		out.piece = &p
		return err
	})
	if err == nil && out.piece != nil {
		err = out.piece.IsClients()
	}
	return out, err
}

// reckoning is what work would be, and what it rests on.
type reckoning struct {
	labour intake.Work
	needs  []intake.Need
	basis  *intakev1.SuggestEstimateResponse_Basis
}

// reckoned goes by what is wanted where somebody says it, else by the piece's finish plan. Fault: WORK_UNKNOWN.
func (s *Server) reckoned(ctx context.Context, r *intakev1.SuggestEstimateRequest, about subject) (reckoning, error) {
	if r.Wanted != nil {
		return s.byWanted(ctx, r.Wanted, about.piece)
	}
	unknown := fault.New(fault.Precondition, "WORK_UNKNOWN", "Nobody says what is to be done, and there is no finish plan; say what is wanted, or plan the finish first.").At("wanted")
	if r.Piece == "" {
		return reckoning{}, unknown
	}
	found, err := s.Finishes.GetFinishPlan(ctx, &workflowv1.GetFinishPlanRequest{Name: r.Piece})
	if fault.Is(err, "PLAN_NOT_FOUND") || fault.Is(err, "PIECE_NOT_FOUND") {
		return reckoning{}, unknown
	}
	if err != nil {
		return reckoning{}, err
	}
	return s.byPlan(ctx, found.Plan)
}

func (s *Server) byPlan(ctx context.Context, p *workflowv1.FinishPlan) (out reckoning, err error) {
	out.labour = intake.Work{Stages: int32(len(p.Stages)), Minutes: p.AttendedMinutes, Low: p.AttendedMinutesLow, High: p.AttendedMinutesHigh}
	out.basis = &intakev1.SuggestEstimateResponse_Basis{FinishPlan: p.Name, Stages: out.labour.Stages, Minutes: p.AttendedMinutes}
	seen := map[string]bool{}
	for _, stage := range p.Stages {
		for _, c := range stage.Cautions {
			if !seen[c.Id] {
				seen[c.Id] = true
				out.labour.Hazards = append(out.labour.Hazards, intake.Hazard{ID: c.Id, Says: c.Text})
			}
		}
	}
	out.needs, err = s.pricedAll(ctx, p.Needs)
	return out, err
}

// byWanted goes by what such work takes here, or usually.
func (s *Server) byWanted(ctx context.Context, m *intakev1.WorkWanted, piece *intake.Piece) (out reckoning, err error) {
	given, err := decodeParts("wanted.parts", m.Parts)
	if err != nil {
		return out, err
	}
	wanted := decodeWanted(m)
	if piece != nil {
		wanted, given = wanted.OfPiece(*piece, given)
	}
	var own []intake.Piece
	if len(given) == 0 {
		err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
			own, err = store.New(q).LatestOfKind(ctx, wanted.Kind, wanted.Size, ownKinds)
			return err
		})
		if err != nil {
			return out, err
		}
	}
	by, err := intake.GoBy(wanted, given, own)
	if err != nil {
		return out, inside("wanted", err)
	}
	work, needs, err := s.work(ctx, wanted, by)
	if err != nil {
		return out, ofWanted(err)
	}
	out.labour, out.needs = work, needs
	out.basis = &intakev1.SuggestEstimateResponse_Basis{Stages: work.Stages, Minutes: work.Minutes, MinutesLearned: work.Learned, MeasuredPieces: int32(by.OwnPieces), PartsGiven: by.Given}
	return out, nil
}

func decodeWanted(m *intakev1.WorkWanted) intake.Sighting {
	return decodeLook(&intakev1.Sighting{Kind: m.Kind, Size: m.Size, Material: m.Material, Species: m.Species, OldFinish: m.OldFinish, PaintedIn: m.PaintedIn,
		Defects: m.Defects, Look: m.Look})
}

// ofWanted puts what workflow refuses where this request has it.
func ofWanted(err error) error {
	if f := fault.Of(err); f != nil && len(f.Fields) > 0 {
		if field, is := strings.CutPrefix(f.Fields[0].Path, "sighting."); is {
			return f.At("wanted." + field)
		}
	}
	return err
}

// suggestDay asks by when a piece that is here could be promised; else why there is none to suggest.
func (s *Server) suggestDay(ctx context.Context, piece string) (*date.Date, string) {
	if piece == "" {
		return nil, "The piece was not brought yet."
	}
	r, err := s.Planning.SuggestPromiseDate(ctx, &workflowv1.SuggestPromiseDateRequest{Piece: piece})
	if f := fault.Of(err); f != nil && (f.Kind == fault.Precondition || f.Kind == fault.NotFound) {
		return nil, f.Text
	}
	if err != nil || r.Gentle.GetPromiseTime() == nil {
		return nil, "Nobody can say now by when it would be done."
	}
	return wire.ToDay(r.Gentle.PromiseTime.AsTime().In(s.Shop.Zone)), ""
}
