package cli

import (
	"context"

	"google.golang.org/grpc"

	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// till is where a fake shop takes money and keeps what taxes it.
type till struct {
	salesv1.UnimplementedTaxServiceServer
	salesv1.UnimplementedPaymentServiceServer
	salesv1.UnimplementedReceiptServiceServer
	f      *fake
	places []*salesv1.TaxPlace
	sale   *salesv1.Sale
}

func (t *till) register(s grpc.ServiceRegistrar) {
	salesv1.RegisterTaxServiceServer(s, t)
	salesv1.RegisterPaymentServiceServer(s, t)
	salesv1.RegisterReceiptServiceServer(s, t)
}

func (t *till) SetTaxPlace(_ context.Context, r *salesv1.SetTaxPlaceRequest) (*salesv1.SetTaxPlaceResponse, error) {
	return note(t.f, r, &salesv1.SetTaxPlaceResponse{Place: t.places[0]})
}

func (t *till) RetireTaxPlace(_ context.Context, r *salesv1.RetireTaxPlaceRequest) (*salesv1.RetireTaxPlaceResponse, error) {
	return note(t.f, r, &salesv1.RetireTaxPlaceResponse{Place: t.places[1]})
}

func (t *till) ListTaxPlaces(context.Context, *salesv1.ListTaxPlacesRequest) (*salesv1.ListTaxPlacesResponse, error) {
	return &salesv1.ListTaxPlacesResponse{Places: t.places}, nil
}

func (t *till) GetTaxReport(_ context.Context, r *salesv1.GetTaxReportRequest) (*salesv1.GetTaxReportResponse, error) {
	row := &salesv1.GetTaxReportResponse_Row{Place: "Springfield", Percent: "8.25", GrossSales: usd(480_00), Exempt: usd(240_00), Taxable: usd(240_00), TaxCollected: usd(19_80),
		SalesRefunded: usd(40_00), TaxRefunded: usd(3_30), NetTax: usd(16_50)}
	said := &salesv1.GetTaxReportResponse_Row{GrossSales: usd(1_00)}
	return asked(t.f, r, &salesv1.GetTaxReportResponse{Rows: []*salesv1.GetTaxReportResponse_Row{said, row}, Total: row})
}

func (t *till) RecordPayment(_ context.Context, r *salesv1.RecordPaymentRequest) (*salesv1.RecordPaymentResponse, error) {
	return note(t.f, r, &salesv1.RecordPaymentResponse{Sale: t.sale})
}

func (t *till) VoidPayment(_ context.Context, r *salesv1.VoidPaymentRequest) (*salesv1.VoidPaymentResponse, error) {
	return note(t.f, r, &salesv1.VoidPaymentResponse{Sale: t.sale})
}

func (t *till) ListDue(context.Context, *salesv1.ListDueRequest) (*salesv1.ListDueResponse, error) {
	return &salesv1.ListDueResponse{Due: []*salesv1.ListDueResponse_Due{{Piece: "pieces/a", Tag: 1, Sale: t.sale}}}, nil
}

func (t *till) SetCashStep(_ context.Context, r *salesv1.SetCashStepRequest) (*salesv1.SetCashStepResponse, error) {
	return note(t.f, r, &salesv1.SetCashStepResponse{CashStep: &salesv1.CashStep{Step: r.Step}})
}

func (t *till) GetCashStep(context.Context, *salesv1.GetCashStepRequest) (*salesv1.GetCashStepResponse, error) {
	return &salesv1.GetCashStepResponse{CashStep: &salesv1.CashStep{}}, nil
}

func (t *till) GetReceipt(_ context.Context, r *salesv1.GetReceiptRequest) (*salesv1.GetReceiptResponse, error) {
	return asked(t.f, r, &salesv1.GetReceiptResponse{Receipt: &salesv1.Receipt{Number: 17, SaleTime: middayPlus(0), Price: usd(240_00), Total: usd(240_00), Due: usd(59_20),
		Lines: []*salesv1.Receipt_Line{{Tag: 1, Title: "Pine dresser", Price: usd(240_00)}}}})
}

// selling fills a fake till: two places, and a sale of which something is due.
func selling(f *fake) {
	f.till.places = []*salesv1.TaxPlace{
		{Name: "taxPlaces/1", DisplayName: "Springfield", IsDefault: true, Rates: []*salesv1.TaxPlace_Rate{{FromDate: march(1), Percent: "8"}, {FromDate: march(9), Percent: "8.25", DeliveryTaxed: true}}},
		{Name: "taxPlaces/2", DisplayName: "Shelbyville", Retired: true, Rates: []*salesv1.TaxPlace_Rate{{FromDate: march(2), Percent: "7"}}}}
	f.till.sale = &salesv1.Sale{Name: "sales/1", Buyer: "R. Okafor", Price: usd(240_00), Tax: usd(19_20), Paid: usd(200_00), Due: usd(59_20), OnAccount: true, Payments: []*salesv1.Payment{
		{Name: "payments/7", Amount: usd(200_05), Rounding: usd(5), Method: salesv1.PaymentMethod_PAYMENT_METHOD_CASH}, {Name: "payments/8", Amount: usd(1_00), Note: "a cheque", VoidReason: "it bounced"}}}
	f.listings = []*salesv1.Listing{{Name: "listings/a", Piece: "pieces/a", Tag: 1, State: salesv1.Listing_STATE_SOLD, Sales: []*salesv1.Sale{{Name: "sales/0"}, f.till.sale}}}
}
