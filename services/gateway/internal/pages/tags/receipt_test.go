package tags_test

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func (s *shop) GetLetterhead(context.Context, *intakev1.GetLetterheadRequest, ...grpc.CallOption) (*intakev1.GetLetterheadResponse, error) {
	return &intakev1.GetLetterheadResponse{Letterhead: &intakev1.Letterhead{ShopName: "Reedmere Refinishing", Paper: intakev1.Letterhead_PAPER_LETTER}}, nil
}

// GetListing knows that piece 403 was sold twice, and 401 never.
func (s *shop) GetListing(_ context.Context, r *salesv1.GetListingRequest, _ ...grpc.CallOption) (*salesv1.GetListingResponse, error) {
	l := &salesv1.Listing{}
	if r.Name == "listings/403" {
		l.Sales = []*salesv1.Sale{{Name: "sales/1"}, {Name: "sales/2"}}
	}
	return &salesv1.GetListingResponse{Listing: l}, nil
}

func (s *shop) GetReceipt(_ context.Context, r *salesv1.GetReceiptRequest, _ ...grpc.CallOption) (*salesv1.GetReceiptResponse, error) {
	number := map[string]int64{"sales/1": 11, "sales/2": 12}[r.Sale]
	if number == 0 {
		return nil, fault.New(fault.NotFound, "SALE_NOT_FOUND", "There is no such sale.")
	}
	price := &money.Money{CurrencyCode: "USD", Units: 95}
	return &salesv1.GetReceiptResponse{Receipt: &salesv1.Receipt{Number: number, SaleTime: timestamppb.New(now), Price: price, Total: price, Due: price, Lines: []*salesv1.Receipt_Line{{Tag: 403, Title: "Elm chair", Price: price}}}}, nil
}

// The receipt is of the last sale, or of the one that is asked for, in the reader's language.
func TestPDF_Receipt(t *testing.T) {
	pages, box := file(t, get(t, 9, "/pieces/403/receipt.pdf", "en", true), "receipt-12.pdf")
	if len(pages) != 1 || box.Index(3).Float64() != 792 {
		t.Errorf("%d pages, %v", len(pages), box)
	}
	says(t, pages[0], "Reedmere Refinishing", "Receipt 12", "Elm chair", "95.00", "Care of the finish")
	pages, _ = file(t, get(t, 9, "/pieces/403/receipt.pdf?sale=1&paper=a4", "es", true), "receipt-11.pdf")
	says(t, pages[0], "Recibo 11", "95,00")
	for address, want := range map[string]int{"/pieces/401/receipt.pdf": http.StatusNotFound, "/pieces/403/receipt.pdf?sale=9": http.StatusNotFound, "/pieces/499/receipt.pdf": http.StatusNotFound} {
		if w := get(t, 9, address, "en", true); w.Code != want || strings.Contains(w.Header().Get("Content-Type"), "pdf") {
			t.Errorf("%s answers %d", address, w.Code)
		}
	}
	if w := get(t, 9, "/pieces/403/receipt.pdf", "en", false); w.Code == http.StatusOK {
		t.Error("whoever is not signed in is given a receipt")
	}
}
