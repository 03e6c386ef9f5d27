package titles_test

import (
	"context"
	"fmt"
	"testing"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/titles"
)

// intake counts how it is asked.
type intake struct {
	intakev1.IntakeServiceClient
	pieces     int
	ones, lots int
}

func (i *intake) piece(n int) *intakev1.Piece {
	return &intakev1.Piece{Name: fmt.Sprintf("pieces/%d", n), Tag: int32(n), Title: fmt.Sprintf("Chest %d", n), Kind: "chest",
		Origin: &intakev1.Piece_Commission{Commission: &intakev1.Commission{Client: "R. Okafor"}}}
}

func (i *intake) GetPiece(_ context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	i.ones++
	var n int
	if _, err := fmt.Sscanf(r.Name, "pieces/%d", &n); err != nil || n >= i.pieces {
		return nil, fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no such piece.")
	}
	return &intakev1.GetPieceResponse{Piece: i.piece(n)}, nil
}

func (i *intake) ListPieces(_ context.Context, r *intakev1.ListPiecesRequest, _ ...grpc.CallOption) (*intakev1.ListPiecesResponse, error) {
	i.lots++
	out, from := &intakev1.ListPiecesResponse{}, 0
	_, _ = fmt.Sscan(r.PageToken, &from) // of the first page there is none
	for n := from; n < min(from+7, i.pieces); n++ {
		out.Pieces = append(out.Pieces, i.piece(n))
	}
	if from+7 < i.pieces {
		out.NextPageToken = fmt.Sprint(from + 7)
	}
	return out, nil
}

func names(n int) (out []string) {
	for i := range n {
		out = append(out, fmt.Sprintf("pieces/%d", i))
	}
	return out
}

func TestBook_AsksForWhatItHasNotMet(t *testing.T) {
	from, book := &intake{pieces: 40}, &titles.Book{}
	for _, step := range []struct{ names, ones, lots int }{{3, 3, 0}, {3, 3, 0}, {30, 3, 6}, {40, 3, 6}} {
		got, err := book.Of(t.Context(), from, names(step.names))
		if err != nil || len(got) != step.names || got["pieces/2"] != (titles.Piece{Tag: 2, Title: "Chest 2", Kind: "chest", Client: "R. Okafor"}) {
			t.Errorf("Of(%d pieces) = %d of them, %v, %v", step.names, len(got), got["pieces/2"], err)
		}
		if from.ones != step.ones || from.lots != step.lots {
			t.Errorf("for %d pieces intake was asked for %d and for %d pages, want %d and %d", step.names, from.ones, from.lots, step.ones, step.lots)
		}
	}
}

func TestBook_OfAStranger(t *testing.T) {
	if got, err := new(titles.Book).Of(t.Context(), &intake{}, names(1)); err != nil || len(got) != 0 {
		t.Errorf("of a piece that intake does not know: %v, %v", got, err)
	}
}
