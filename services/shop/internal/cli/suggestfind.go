package cli

import (
	"context"
	"strconv"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

func piecesFound(ctx context.Context, shop *client.Shop, _ *suggester) (all []suggestion, err error) {
	pieces, err := shop.AllPieces(ctx)
	for _, p := range pieces {
		all = append(all, suggestion{strconv.Itoa(int(p.Tag)), oneLine(p.Title)})
	}
	return all, err
}

// prospectsFound are those that are still open.
func prospectsFound(ctx context.Context, shop *client.Shop, _ *suggester) (all []suggestion, err error) {
	prospects, err := shop.AllProspects(ctx, intakev1.Prospect_STATE_OPEN)
	for _, p := range prospects {
		all = append(all, suggestion{strconv.Itoa(int(p.Number)), oneLine(prospectTitle(p))})
	}
	return all, err
}

func clientsFound(ctx context.Context, shop *client.Shop, _ *suggester) (all []suggestion, err error) {
	clients, err := shop.AllClients(ctx, false)
	for _, c := range clients {
		all = append(all, suggestion{strconv.Itoa(int(c.Number)), oneLine(c.GetDetails().GetDisplayName())})
	}
	return all, err
}

func commissionsFound(ctx context.Context, shop *client.Shop, _ *suggester) (all []suggestion, err error) {
	commissions, err := shop.AllCommissions(ctx, intakev1.CommissionOrder_STATE_UNSPECIFIED, "")
	for _, c := range commissions {
		all = append(all, suggestion{strconv.Itoa(int(c.Number)), oneLine(c.ClientName + ": " + c.Description)})
	}
	return all, err
}

func peopleFound(ctx context.Context, shop *client.Shop, _ *suggester) (all []suggestion, err error) {
	people, err := shop.AllPeople(ctx)
	for _, p := range people {
		all = append(all, suggestion{oneLine(p.DisplayName), ""})
	}
	return all, err
}

// onLine is the piece that the line names.
func (s *suggester) onLine(ctx context.Context, shop *client.Shop) (*intakev1.Piece, error) {
	tag := s.said["piece"]
	for i, p := range s.at.Positional {
		if p.Name == "piece" && i < len(s.given) {
			tag = s.given[i]
		}
	}
	return shop.Piece(ctx, tag)
}

// partsFound are the parts of the piece that the line names.
func partsFound(ctx context.Context, shop *client.Shop, s *suggester) (all []suggestion, err error) {
	p, err := s.onLine(ctx, shop)
	for _, part := range p.GetParts() {
		all = append(all, suggestion{oneLine(part.Label), ""})
	}
	return all, err
}

// stagesFound are the stages of the piece that the line names.
func stagesFound(ctx context.Context, shop *client.Shop, s *suggester) (all []suggestion, err error) {
	p, err := s.onLine(ctx, shop)
	if err != nil {
		return nil, err
	}
	r, err := shop.Stages.ListStages(ctx, &workflowv1.ListStagesRequest{Piece: p.Name})
	for _, stage := range r.GetStages() {
		all = append(all, suggestion{oneLine(client.Title(stage)), strings.ToLower(strings.TrimPrefix(stage.State.String(), "STATE_"))})
	}
	return all, err
}
