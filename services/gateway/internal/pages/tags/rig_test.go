package tags_test

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/ledongthuc/pdf"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/pages/tags"
	"tackfree/services/gateway/internal/web"
)

var now = time.Date(2026, 3, 18, 16, 0, 0, 0, time.UTC)

// shop has pieces from 401 on, of which every third was sold and one was given up.
type shop struct {
	intakev1.IntakeServiceClient
	workflowv1.PartTestServiceClient
	workflowv1.FloorServiceClient
	salesv1.SalesServiceClient
	materialsv1.MaterialsServiceClient
	salesv1.ReceiptServiceClient
	pieces int
}

func (s *shop) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "USD", TimeZone: "UTC"}, nil
}

func pieceOf(tag int) *intakev1.Piece {
	p := &intakev1.Piece{Name: fmt.Sprint("pieces/", tag), Tag: int32(tag), Title: fmt.Sprintf("Dresser %d", tag), Kind: "dresser", State: intakev1.Piece_STATE_IN_HAND,
		Parts: []*intakev1.Part{{Name: "top", Label: "top", Count: 1}, {Name: "drawers", Label: "drawers", Count: 4}}}
	if tag == 404 {
		p.State = intakev1.Piece_STATE_SCRAPPED
	}
	return p
}

func (s *shop) GetPiece(_ context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	var tag int
	if _, err := fmt.Sscanf(r.Name, "pieces/tag:%d", &tag); err != nil || tag < 401 || tag > 400+s.pieces {
		return nil, fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no piece with that tag.")
	}
	return &intakev1.GetPieceResponse{Piece: pieceOf(tag)}, nil
}

func (s *shop) ListPieces(_ context.Context, r *intakev1.ListPiecesRequest, _ ...grpc.CallOption) (*intakev1.ListPiecesResponse, error) {
	out := &intakev1.ListPiecesResponse{NextPageToken: "rest"}
	from, to := 401, 401+s.pieces/2
	if r.PageToken == "rest" {
		out.NextPageToken, from, to = "", to, 401+s.pieces
	}
	for tag := from; tag < to; tag++ {
		out.Pieces = append(out.Pieces, pieceOf(tag))
	}
	return out, nil
}

func (s *shop) ListListings(_ context.Context, r *salesv1.ListListingsRequest, _ ...grpc.CallOption) (*salesv1.ListListingsResponse, error) {
	out := &salesv1.ListListingsResponse{}
	for _, p := range r.Pieces {
		var tag int
		if _, err := fmt.Sscanf(p, "pieces/%d", &tag); err == nil && tag%3 == 0 {
			out.Listings = append(out.Listings, &salesv1.Listing{Piece: p, State: salesv1.Listing_STATE_SOLD})
		}
	}
	return out, nil
}

func (s *shop) ListPartTests(context.Context, *workflowv1.ListPartTestsRequest, ...grpc.CallOption) (*workflowv1.ListPartTestsResponse, error) {
	return &workflowv1.ListPartTestsResponse{Tests: []*workflowv1.PartTest{{Part: "top", Result: &workflowv1.PartTest_Lead{Lead: &workflowv1.Lead{Result: workflowv1.Lead_RESULT_FREE}}}}}, nil
}

func (s *shop) ListBoard(context.Context, *workflowv1.ListBoardRequest, ...grpc.CallOption) (*workflowv1.ListBoardResponse, error) {
	return &workflowv1.ListBoardResponse{Lines: []*workflowv1.BoardLine{{Piece: "pieces/401", PromiseTime: timestamppb.New(now.AddDate(0, 0, 2))}}}, nil
}

func (s *shop) GetProduct(_ context.Context, r *materialsv1.GetProductRequest, _ ...grpc.CallOption) (*materialsv1.GetProductResponse, error) {
	return &materialsv1.GetProductResponse{Product: &materialsv1.Product{Name: r.Name, DisplayName: "Gel stripper", Details: &typev1.ProductDetails{Maker: "Millrace", Hazards: "H225"}}}, nil
}

type door struct{}

func (door) Renew(context.Context, string) (web.Access, error) {
	return web.Access{User: web.User{Person: "people/1", Name: "Nell", Role: typev1.Role_ROLE_HELPER}, Token: "t", Expires: now.Add(time.Hour)}, nil
}

// get asks for an address in the shop of so many pieces, as a helper; language as browsers say it.
func get(t *testing.T, pieces int, address, language string, signedIn bool) *httptest.ResponseRecorder {
	t.Helper()
	s := &shop{pieces: pieces}
	clock := func() time.Time { return now }
	kit := web.New(&web.Kit{Keeper: &web.Keeper{Door: door{}, Now: clock}, Logger: slog.New(slog.DiscardHandler), Now: clock,
		Suite: &clients.Suite{Intake: s, Tests: s, Floor: s, Sales: s, Receipts: s, Materials: s}})
	kit.Handle(tags.Page())
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "http://shop.local:7410"+address, nil)
	r.Header.Set("Accept-Language", language)
	if signedIn {
		r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: "secret"})
	}
	w := httptest.NewRecorder()
	kit.Handler().ServeHTTP(w, r)
	return w
}

// file is what another program reads in an answer that is a PDF: the texts of each page, a line each.
func file(t *testing.T, w *httptest.ResponseRecorder, name string) (pages []string, box pdf.Value) {
	t.Helper()
	if got := w.Header().Get("Content-Disposition"); w.Code != http.StatusOK || w.Header().Get("Content-Type") != "application/pdf" || got != fmt.Sprintf("attachment; filename=%q", name) {
		t.Fatalf("status %d, %s, %s, want %s: %.300s", w.Code, w.Header().Get("Content-Type"), got, name, w.Body)
	}
	if h := w.Header(); h.Get("Cache-Control") != "no-store" || !strings.Contains(h.Get("Content-Security-Policy"), "default-src 'none'") {
		t.Errorf("headers %v", h)
	}
	r, err := pdf.NewReader(bytes.NewReader(w.Body.Bytes()), int64(w.Body.Len()))
	if err != nil {
		t.Fatal(err)
	}
	for n := range r.NumPage() {
		pages = append(pages, textOf(r.Page(n+1)))
	}
	return pages, r.Page(1).V.Key("Parent").Key("MediaBox")
}

func textOf(p pdf.Page) string {
	var out strings.Builder
	pdf.Interpret(p.V.Key("Contents"), func(s *pdf.Stack, op string) {
		for s.Len() > 0 {
			if v := s.Pop(); op == "Tj" {
				var units []uint16
				for raw := v.RawString(); len(raw) > 1; raw = raw[2:] {
					units = append(units, uint16(raw[0])<<8|uint16(raw[1]))
				}
				out.WriteString(string(utf16.Decode(units)) + "\n")
			}
		}
	})
	return out.String()
}
