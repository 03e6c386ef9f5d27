package sold_test

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	salesv1 "tackfree/proto/tackfree/sales/v1"
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

func TestAmong(t *testing.T) {
	names := make([]string, 1500)
	for i := range names {
		names[i] = fmt.Sprintf("pieces/%d", i)
	}
	m := &market{}
	got, err := sold.Among(t.Context(), m, names)
	if err != nil || len(got) != 334+167 || !got["pieces/3"] || got["pieces/4"] || fmt.Sprint(m.asked) != "[1000 500]" {
		t.Errorf("Among = %d of them, %v, asked %v", len(got), err, m.asked)
	}
	if got, err := sold.Among(t.Context(), m, nil); err != nil || len(got) != 0 || len(m.asked) != 2 {
		t.Errorf("of none: %v, %v, asked %v", got, err, m.asked)
	}
	broken := errors.New("broken")
	for err, want := range map[error]error{fault.New(fault.Unavailable, "AWAY", "Away."): nil, fault.New(fault.Denied, "METHOD_NOT_ALLOWED", "No."): nil, broken: broken} {
		if got, gotErr := sold.Among(t.Context(), &market{err: err}, names[:5]); !errors.Is(gotErr, want) || len(got) != 0 {
			t.Errorf("with %v: %v, %v", err, got, gotErr)
		}
	}
}
