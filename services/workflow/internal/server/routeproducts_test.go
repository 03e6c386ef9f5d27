package server_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

type stepProduct = workflowv1.PlanStagesRequest_StepProduct

// colouring is a plan of a chest with a top and a case by one route: sanded, painted, and waxed
// as a whole.
func (f *floor) colouring(t *testing.T) *workflowv1.PlanStagesRequest {
	t.Helper()
	wax := step("wax", "", "paint")
	wax.Scope = workflowv1.Step_SCOPE_PIECE
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), saveRoute(step("sand", ""), step("paint", "", "sand"), wax)); err != nil {
		t.Fatal(err)
	}
	return &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: f.intake.add("top", "case").Name, Route: "routes/painted", PlanTime: at(0)}
}

// A route is painted in whatever colour the piece is to have: the plan names it, and every stage
// says with what it is done. What is not named is done with nothing, and nobody asks materials.
func TestServer_PlanStages_Products(t *testing.T) {
	t.Parallel()
	f := setup(t)
	r := f.colouring(t)
	if _, err := f.stages.PlanStages(svctest.Ctx(t), r); err != nil || f.stock.asked.Load() != 0 {
		t.Fatalf("a plan without products = %v, and materials was asked %d times", err, f.stock.asked.Load())
	}
	cream, umber, beeswax := f.stock.shelved("Cream"), f.stock.shelved("Umber"), f.stock.shelved("Beeswax")
	r = f.colouring(t)
	r.Products = []*stepProduct{{Step: "paint", Product: cream}, {Step: "wax", Product: beeswax}}
	r.Parts = []*workflowv1.PlanStagesRequest_PartRoute{{Part: f.intake.pieces[r.Piece].Parts[0].Name, Products: []*stepProduct{{Step: "paint", Product: umber}}}}
	planned, err := f.stages.PlanStages(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	listed, err := f.stages.ListStages(t.Context(), &workflowv1.ListStagesRequest{Piece: r.Piece})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(planned.Stages, listed.Stages, protocmp.Transform()); diff != "" {
		t.Errorf("what was planned is listed otherwise:\n%s", diff)
	}
	got := map[string][2]string{}
	for _, s := range listed.Stages {
		got[s.Key+" "+s.PartLabel] = [2]string{s.Product, s.ProductName}
	}
	want := map[string][2]string{"sand top": {}, "sand case": {}, "paint top": {umber, "Umber"}, "paint case": {cream, "Cream"}, "wax ": {beeswax, "Beeswax"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("what is done with what (-want +got):\n%s", diff)
	}
	delete(f.stock.products, cream)
	if again, err := f.stages.PlanStages(svctest.Ctx(t), r); err != nil || !cmp.Equal(again, planned, protocmp.Transform()) {
		t.Errorf("asked again, the product gone = %v, %v", again, err)
	}
}

func TestServer_PlanStages_ProductsRefused(t *testing.T) {
	t.Parallel()
	f := setup(t)
	cream, umber := f.stock.shelved("Cream"), f.stock.shelved("Umber")
	for name, c := range map[string]struct {
		all, own     []*stepProduct
		kind         fault.Kind
		reason, path string
	}{
		"Gone":     {[]*stepProduct{{Step: "paint", Product: cream}, {Step: "wax", Product: id.Name("products", id.New())}}, nil, fault.NotFound, "PRODUCT_NOT_FOUND", "products[1].product"},
		"OwnGone":  {nil, []*stepProduct{{Step: "paint", Product: id.Name("products", id.New())}}, fault.NotFound, "PRODUCT_NOT_FOUND", "parts[0].products[0].product"},
		"Misnamed": {[]*stepProduct{{Step: "paint", Product: "Cream"}}, nil, fault.Invalid, "INVALID_NAME", "products[0].product"},
		"NoStep":   {[]*stepProduct{{Step: "gild", Product: cream}}, nil, fault.Invalid, "ROUTE_STEP_UNKNOWN", "products[0].step"},
		"OwnNone":  {nil, []*stepProduct{{Step: "gild", Product: cream}}, fault.Invalid, "ROUTE_STEP_UNKNOWN", "parts[0].products[0].step"},
		"Twice":    {[]*stepProduct{{Step: "paint", Product: cream}, {Step: "paint", Product: umber}}, nil, fault.Invalid, "ROUTE_STEP_TWICE", "products[1].step"},
		"Disagree": {[]*stepProduct{{Step: "wax", Product: cream}}, []*stepProduct{{Step: "wax", Product: umber}}, fault.Invalid, "ROUTES_DISAGREE", "products[0].product"},
	} {
		t.Run(name, func(t *testing.T) {
			r := f.colouring(t)
			r.Products = c.all
			r.Parts = []*workflowv1.PlanStagesRequest_PartRoute{{Part: f.intake.pieces[r.Piece].Parts[0].Name, Products: c.own}}
			if got := svctest.Refused(t, f.Service, f.stages.PlanStages, r, c.kind, c.reason); len(got.Fields) != 1 || got.Fields[0].Path != c.path {
				t.Errorf("it blames %v, not %s", got.Fields, c.path)
			}
		})
	}
}

// Stages of a route are batched by colour as those of a finish plan are.
func TestServer_FormBatch_RoutedColours(t *testing.T) {
	t.Parallel()
	f := setup(t)
	_, one := f.sprayed(t, 11, "Cream")
	_, other := f.sprayed(t, 12, "Umber")
	_, third := f.sprayed(t, 13, "Cream")
	got := svctest.Refused(t, f.Service, f.batches().FormBatch, forming(one["spray"], other["spray"]), fault.Precondition, "BATCH_MIXED")
	says(t, got, "the one takes Cream, the other Umber")
	if b := f.formed(t, one["spray"], third["spray"]); b.ProductName != "Cream" {
		t.Errorf("the batch is of %q", b.ProductName)
	}
}
