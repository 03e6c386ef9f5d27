package server_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"slices"
	"testing"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// sendsOffers gives an import of a whole file in parts.
func (b *bundle) sendsOffers(ctx context.Context, r *materialsv1.ImportOffersRequest, opts ...grpc.CallOption) (*materialsv1.ImportOffersResponse, error) {
	stream, err := b.suppliers().ImportOffers(ctx, opts...)
	if err != nil {
		return nil, err
	}
	for part := range slices.Chunk(r.Csv, 100) {
		err := stream.Send(&materialsv1.ImportOffersRequest{RequestId: r.RequestId, DryRun: r.DryRun, Csv: part})
		if errors.Is(err, io.EOF) {
			break // CloseAndRecv says why
		}
		if err != nil {
			return nil, err
		}
	}
	return stream.CloseAndRecv()
}

func (b *bundle) importsOffers(t *testing.T, r *materialsv1.ImportOffersRequest) *materialsv1.ImportOffersResponse {
	t.Helper()
	return must[*materialsv1.ImportOffersResponse](t)(b.sendsOffers(svctest.Ctx(t), r))
}

func (b *bundle) exportOffers(t *testing.T) []byte {
	t.Helper()
	stream, err := b.suppliers().ExportOffers(t.Context(), &materialsv1.ExportOffersRequest{})
	if err != nil {
		t.Fatal(err)
	}
	var file bytes.Buffer
	for {
		part, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			return file.Bytes()
		}
		if err != nil {
			t.Fatal(err)
		}
		file.Write(part.Csv)
	}
}

func offersFile(rows ...string) *materialsv1.ImportOffersRequest {
	return &materialsv1.ImportOffersRequest{RequestId: svctest.NewID(), Csv: fileOf(append([]string{"supplier,product,package_label,supplier_lead_days,article,lead_days,price_breaks"}, rows...)...).Csv}
}

// A file adds a supplier with two offers, each a fact of theirs; asked again it is done once; what
// was exported says what is known, and what is retired is left out.
func TestServer_ImportOffers(t *testing.T) {
	b := setup(t)
	b.add(t, shellac())
	other := shellac()
	other.DisplayName = "Amber shellac"
	b.add(t, other)
	label := shellac().Packages[0].Label
	r := offersFile("Paint store,Amber shellac,"+label+",5,A 1,,24; 6=21.50", "Paint store,"+shellac().DisplayName+","+label+",5,,0,9.50")
	r.DryRun = true
	before := len(b.Events(t))
	same(t, "a dry run", &materialsv1.ImportOffersResponse{Added: 2}, b.importsOffers(t, r))
	if n := len(b.Events(t)); n != before {
		t.Errorf("%d events of a dry run", n-before)
	}
	r.DryRun = false
	for range 2 {
		same(t, "the file", &materialsv1.ImportOffersResponse{Applied: true, Added: 2}, b.importsOffers(t, r))
	}
	var kinds []string
	for n, e := range b.Events(t)[before:] {
		switch e.Payload.(type) {
		case *eventsv1.Envelope_SupplierSaved:
			kinds = append(kinds, "supplier")
		case *eventsv1.Envelope_OfferSet:
			kinds = append(kinds, "offer")
		}
		if e.Version != int64(n+1) {
			t.Errorf("event %d makes version %d", n, e.Version)
		}
	}
	if !slices.Equal(kinds, []string{"supplier", "offer", "offer"}) {
		t.Errorf("told are %v", kinds)
	}
	file := b.exportOffers(t)
	again := &materialsv1.ImportOffersRequest{RequestId: svctest.NewID(), Csv: file}
	same(t, "what was exported", &materialsv1.ImportOffersResponse{Applied: true, Unchanged: 2}, b.importsOffers(t, again))
	if next := b.exportOffers(t); !bytes.Equal(file, next) || bytes.Count(file, []byte("Paint store")) != 2 {
		t.Errorf("exported\n%s\nand then\n%s", file, next)
	}
	all := must[*materialsv1.ListSuppliersResponse](t)(b.suppliers().ListSuppliers(t.Context(), &materialsv1.ListSuppliersRequest{})).Suppliers
	must[*materialsv1.ChangeSupplierResponse](t)(b.suppliers().ChangeSupplier(svctest.Ctx(t), &materialsv1.ChangeSupplierRequest{
		RequestId: svctest.NewID(), Supplier: all[0].Name, DisplayName: "Paint store", LeadDays: 5, Retired: true}))
	if left := b.exportOffers(t); bytes.Count(left, []byte("\n")) != 1 {
		t.Errorf("of a retired supplier is exported\n%s", left)
	}
	same(t, "what a retired supplier asked already", &materialsv1.ImportOffersResponse{Applied: true, Unchanged: 2},
		b.importsOffers(t, &materialsv1.ImportOffersRequest{RequestId: svctest.NewID(), Csv: file}))
}

// With one row that is wrong nothing is done.
func TestServer_ImportOffers_AllOrNothing(t *testing.T) {
	b := setup(t)
	b.add(t, shellac())
	good := "Paint store," + shellac().DisplayName + "," + shellac().Packages[0].Label + ",5,,,9.50"
	before := len(b.Events(t))
	got := b.importsOffers(t, offersFile(good, "Paint store,Varnish,tin,5,,,9"))
	if got.Applied || got.RejectionCount != 1 || got.Rejections[0].Row != 3 || got.Rejections[0].Column != "product" {
		t.Errorf("ImportOffers = %v", got)
	}
	if n := len(b.Events(t)); n != before || bytes.Count(b.exportOffers(t), []byte("\n")) != 1 {
		t.Errorf("%d events, and there is\n%s", n-before, b.exportOffers(t))
	}
	bad := offersFile(good)
	bad.Csv = bytes.Replace(bad.Csv, []byte("article"), []byte("smell"), 1)
	svctest.Refused(t, b.Service, b.sendsOffers, bad, fault.Invalid, "COLUMN_UNKNOWN")
	bad.Csv = []byte("supplier,product\nPaint store,Wax")
	svctest.Refused(t, b.Service, b.sendsOffers, bad, fault.Invalid, "COLUMN_MISSING")
}
