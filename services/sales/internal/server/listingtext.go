package server

import (
	"context"
	"strings"

	"google.golang.org/grpc"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/sales/internal/listingtext"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// Stages is what sales asks of workflow: what was done to a piece.
type Stages interface {
	ListStages(context.Context, *workflowv1.ListStagesRequest, ...grpc.CallOption) (*workflowv1.ListStagesResponse, error)
}

// GetListingText implements ListingService.
func (s *Server) GetListingText(ctx context.Context, r *salesv1.GetListingTextRequest) (*salesv1.GetListingTextResponse, error) {
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	p, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: id.Name("pieces", piece)})
	if err != nil {
		return nil, err
	}
	of := s.pieceOf(piece, p.GetPiece())
	listing := sales.New(of)
	if err := listing.Offerable(of); err != nil {
		return nil, err
	}
	text, err := s.text(ctx, piece, p.GetPiece())
	if err != nil {
		return nil, err
	}
	return &salesv1.GetListingTextResponse{Text: encodeText(text)}, nil
}

// text gathers what is known of a piece and writes it.
func (s *Server) text(ctx context.Context, piece id.ID, p *intakev1.Piece) (listingtext.Text, error) {
	known := listingtext.Piece{Title: p.GetTitle(), Kind: p.GetKind(), Size: sizes[p.GetSize()], Condition: conditions[p.GetCondition()]}
	for _, part := range p.GetParts() {
		known.Parts = append(known.Parts, listingtext.Part{Label: part.GetLabel(), Count: max(1, int(part.GetCount())),
			Length: measure(part.GetLength()), Width: measure(part.GetWidth()), Thickness: measure(part.GetThickness())})
	}
	err := s.DB.View(ctx, func(q pg.Querier) error {
		noted, err := store.New(q).PastPiece(ctx, piece)
		known.Look = noted.Look
		return err
	})
	if err != nil {
		return listingtext.Text{}, err
	}
	if known.Coats, err = s.coats(ctx, p.GetName()); err != nil {
		return listingtext.Text{}, err
	}
	return listingtext.Write(known), nil
}

// coats are those that are finished, in the order of the work. What was only planned is no fact of the piece.
func (s *Server) coats(ctx context.Context, piece string) (out []listingtext.Coat, err error) {
	done, err := s.Stages.ListStages(ctx, &workflowv1.ListStagesRequest{Piece: piece})
	for _, stage := range done.GetStages() {
		kind, isCoat := strings.CutSuffix(stage.GetKind(), "_coat")
		if isCoat && stage.GetState() == workflowv1.Stage_STATE_FINISHED {
			out = append(out, listingtext.Coat{Part: stage.GetPartLabel(), Kind: strings.ReplaceAll(kind, "_", " "), Product: stage.GetProductName()})
		}
	}
	return out, err
}

func measure(q *typev1.Quantity) string {
	if q == nil {
		return ""
	}
	return q.Value + " " + q.Unit
}

var sources = map[listingtext.Source]salesv1.ListingText_Fact_Source{
	listingtext.Intake: salesv1.ListingText_Fact_SOURCE_INTAKE, listingtext.Workflow: salesv1.ListingText_Fact_SOURCE_WORKFLOW,
}

func encodeFact(f listingtext.Fact) *salesv1.ListingText_Fact {
	return &salesv1.ListingText_Fact{Source: sources[f.Source], What: f.What, Value: f.Value}
}

func encodeText(t listingtext.Text) *salesv1.ListingText {
	out := &salesv1.ListingText{Title: t.Title.Value, TitleFact: encodeFact(t.Title), NotKnown: t.NotKnown}
	for _, line := range t.Lines {
		told := &salesv1.ListingText_Line{Text: line.Text}
		for _, f := range line.Facts {
			told.Facts = append(told.Facts, encodeFact(f))
		}
		out.Lines = append(out.Lines, told)
	}
	return out
}

// oneText puts the lines one behind the other.
func oneText(t listingtext.Text) string {
	lines := make([]string, len(t.Lines))
	for i, line := range t.Lines {
		lines[i] = line.Text
	}
	return strings.Join(lines, " ")
}
