package sold_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/sold"
)

// market knows of each piece that it is listed, and of every third that it is sold.
type market struct {
	salesv1.SalesServiceClient
	asked []int
	err   error
}

func (m *market) ListListings(_ context.Context, r *salesv1.ListListingsRequest, _ ...grpc.CallOption) (*salesv1.ListListingsResponse, error) {
	m.asked = append(m.asked, len(r.Pieces))
	out := &salesv1.ListListingsResponse{}
	for i, p := range r.Pieces {
		l := &salesv1.Listing{Piece: p, State: salesv1.Listing_STATE_LISTED}
		if i%3 == 0 {
			l.State = salesv1.Listing_STATE_SOLD
		}
		out.Listings = append(out.Listings, l)
	}
	return out, m.err
}

// hall is the floor, of which some pieces came back; it is away or broken by err.
type hall struct {
	workflowv1.FloorServiceClient
	back []string
	err  error
}

func (h *hall) ListBoard(_ context.Context, r *workflowv1.ListBoardRequest, _ ...grpc.CallOption) (*workflowv1.ListBoardResponse, error) {
	out := &workflowv1.ListBoardResponse{Lines: []*workflowv1.BoardLine{{Piece: "pieces/0"}}}
	if !r.CameBack || !slices.Contains(r.States, workflowv1.BoardLine_STATE_DONE) {
		return out, nil
	}
	for _, piece := range h.back {
		out.Lines = append(out.Lines, &workflowv1.BoardLine{Piece: piece, Comeback: "comebacks/of-" + piece})
	}
	return out, h.err
}

// What is sold and is here to be mended is work like any, also if nobody laid out yet how. Without the floor none is known
// to have come back.
func TestAmong_CameBack(t *testing.T) {
	names := []string{"pieces/0", "pieces/1", "pieces/2", "pieces/3"} // the first and the last are sold
	broken := errors.New("broken")
	for _, c := range []struct {
		err, want error
		sold      string
	}{{nil, nil, "map[pieces/0:true]"}, {fault.New(fault.Unavailable, "AWAY", "Away."), nil, "map[pieces/0:true pieces/3:true]"},
		{fault.New(fault.Denied, "METHOD_NOT_ALLOWED", "No."), nil, "map[pieces/0:true pieces/3:true]"}, {broken, broken, ""}} {
		got, err := sold.Among(t.Context(), &market{}, &hall{back: []string{"pieces/3", "pieces/1"}, err: c.err}, names)
		if !errors.Is(err, c.want) || err == nil && fmt.Sprint(got) != c.sold {
			t.Errorf("with %v: Among = %v, %v, want %s", c.err, got, err, c.sold)
		}
	}
}

func TestAmong(t *testing.T) {
	names := make([]string, 1500)
	for i := range names {
		names[i] = fmt.Sprintf("pieces/%d", i)
	}
	m := &market{}
	got, err := sold.Among(t.Context(), m, &hall{}, names)
	if err != nil || len(got) != 334+167 || !got["pieces/3"] || got["pieces/4"] || fmt.Sprint(m.asked) != "[1000 500]" {
		t.Errorf("Among = %d of them, %v, asked %v", len(got), err, m.asked)
	}
	if got, err := sold.Among(t.Context(), m, nil, nil); err != nil || len(got) != 0 || len(m.asked) != 2 {
		t.Errorf("of none: %v, %v, asked %v", got, err, m.asked)
	}
	broken := errors.New("broken")
	for err, want := range map[error]error{fault.New(fault.Unavailable, "AWAY", "Away."): nil, fault.New(fault.Denied, "METHOD_NOT_ALLOWED", "No."): nil, broken: broken} {
		if got, gotErr := sold.Among(t.Context(), &market{err: err}, &hall{}, names[:5]); !errors.Is(gotErr, want) || len(got) != 0 {
			t.Errorf("with %v: %v, %v", err, got, gotErr)
		}
	}
}
