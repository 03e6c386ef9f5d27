package server_test

import (
	"context"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"tackfree/pkg/svctest"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// holdsMoney reports whether an amount stands anywhere in an answer.
func holdsMoney(m protoreflect.Message) (found bool) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case f.Message() == nil || f.IsMap():
		case f.IsList():
			for i := range v.List().Len() {
				found = found || holdsMoney(v.List().Get(i).Message())
			}
		default:
			found = found || f.Message().FullName() == "google.type.Money" || holdsMoney(v.Message())
		}
		return !found
	})
	return found
}

// What material costs is told to leads, who order it, and to owners, whichever answer it stands in; helpers, who
// take it, are told all else.
func TestServer_TellsCostsToLeads(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	issue := b.issue(t, b.issueOf(product, of("0.5", "L"))).Issue
	_, err := b.stock().RecordWaste(svctest.Ctx(t), &materialsv1.RecordWasteRequest{RequestId: svctest.NewID(), Product: product, Quantity: of("0.1", "L"),
		Cause: materialsv1.WasteCause_WASTE_CAUSE_SPILT})
	if err != nil {
		t.Fatal(err)
	}
	b.offer(t, &materialsv1.SetOfferRequest{RequestId: svctest.NewID(), Product: product, Supplier: b.supplier(t, "Paint barn").Name, PackageLabel: "quart can",
		PriceBreaks: []*materialsv1.PriceBreak{{FromPackages: 1, Price: usd(1900)}}})
	m, stock, storage, suppliers := materialsv1.NewMaterialsServiceClient(b.Edge), materialsv1.NewStockServiceClient(b.Edge), materialsv1.NewStorageServiceClient(b.Edge), materialsv1.NewSupplierServiceClient(b.Edge)
	const helper, lead, owner = typev1.Role_ROLE_HELPER, typev1.Role_ROLE_LEAD, typev1.Role_ROLE_OWNER
	for name, c := range map[string]struct {
		least typev1.Role
		ask   func(context.Context) (proto.Message, error)
	}{
		"GetProduct": {helper, func(ctx context.Context) (proto.Message, error) {
			return m.GetProduct(ctx, &materialsv1.GetProductRequest{Name: product})
		}},
		"ListProducts": {helper, func(ctx context.Context) (proto.Message, error) {
			return m.ListProducts(ctx, &materialsv1.ListProductsRequest{})
		}},
		"ListLots": {helper, func(ctx context.Context) (proto.Message, error) {
			return m.ListLots(ctx, &materialsv1.ListLotsRequest{Product: product})
		}},
		"ListIssues": {helper, func(ctx context.Context) (proto.Message, error) {
			return m.ListIssues(ctx, &materialsv1.ListIssuesRequest{Piece: b.piece})
		}},
		"IssueMaterial": {helper, func(ctx context.Context) (proto.Message, error) {
			return m.IssueMaterial(ctx, b.issueOf(product, of("0.1", "L")))
		}},
		"ReturnMaterial": {helper, func(ctx context.Context) (proto.Message, error) {
			return stock.ReturnMaterial(ctx, &materialsv1.ReturnMaterialRequest{RequestId: svctest.NewID(), Issue: issue.Name, Quantity: of("0.1", "L")})
		}},
		"CountStock": {helper, func(ctx context.Context) (proto.Message, error) {
			return stock.CountStock(ctx, &materialsv1.CountStockRequest{RequestId: svctest.NewID(), Product: product, Quantity: of("1", "L")})
		}},
		"ListWaste": {helper, func(ctx context.Context) (proto.Message, error) {
			return storage.ListWaste(ctx, &materialsv1.ListWasteRequest{})
		}},
		"ListMovements": {lead, func(ctx context.Context) (proto.Message, error) {
			return stock.ListMovements(ctx, &materialsv1.ListMovementsRequest{Product: product})
		}},
		"ListOffers": {lead, func(ctx context.Context) (proto.Message, error) {
			return suppliers.ListOffers(ctx, &materialsv1.ListOffersRequest{Product: product})
		}},
	} {
		for _, role := range []typev1.Role{helper, lead, owner} {
			if role < c.least {
				continue
			}
			got, err := c.ask(b.As(t, role))
			if err != nil || proto.Size(got) == 0 || holdsMoney(got.ProtoReflect()) != (role >= lead) {
				t.Errorf("%s as %v tells %v, %v", name, role, got, err)
			}
		}
	}
	for role, want := range map[typev1.Role]string{helper: ",0.1,L,,,", lead: ",USD,", owner: ",USD,"} {
		r, err := storage.ExportWaste(b.As(t, role), &materialsv1.ExportWasteRequest{})
		if err != nil || !strings.Contains(r.GetCsv(), want) || strings.Contains(r.GetCsv(), "USD") != (role >= lead) {
			t.Errorf("ExportWaste as %v = %q, %v, want %q in it", role, r.GetCsv(), err, want)
		}
	}
}
