package server_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// oldDresser is to be painted; nobody knows when it was before.
func oldDresser() *workflowv1.EstimateFinishRequest {
	seen := &workflowv1.Assessment{Material: workflowv1.Assessment_MATERIAL_SOLID_WOOD, Species: "pine", OldFinish: "alkyd or oil varnish"}
	return &workflowv1.EstimateFinishRequest{Parts: []*workflowv1.PartToEstimate{
		{Label: "case", AreaM2: 3.2, Assessment: seen, Look: "paint"}, {Label: "drawers", AreaM2: 1.4, Assessment: seen, Look: "paint"},
	}}
}

// oakTable is stained.
func oakTable() *workflowv1.EstimateFinishRequest {
	return &workflowv1.EstimateFinishRequest{Parts: []*workflowv1.PartToEstimate{{Label: "top", AreaM2: 1.8, Look: "stain",
		Assessment: &workflowv1.Assessment{Material: workflowv1.Assessment_MATERIAL_SOLID_WOOD, Species: "oak", OldFinish: "unknown", PaintedIn: 1995}}}}
}

func (f *floor) estimate(t testing.TB, r *workflowv1.EstimateFinishRequest) *workflowv1.EstimateFinishResponse {
	t.Helper()
	got, err := workflowv1.NewEstimateServiceClient(f.Conn).EstimateFinish(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func cautionIDs(all []*workflowv1.Caution) (out []string) {
	for _, c := range all {
		out = append(out, c.Id)
	}
	return out
}

// needOf finds what is needed by its name; nil: nothing of the name is.
func needOf(r *workflowv1.EstimateFinishResponse, name string) *workflowv1.MaterialNeed {
	for _, n := range r.Needs {
		if n.ProductName == name {
			return n
		}
	}
	return nil
}

// A shop that has nothing yet estimates by what is usual, and warns of what nobody tested.
func TestServer_EstimateFinish(t *testing.T) {
	t.Parallel()
	f := setup(t)
	events := len(f.Events(t))
	got := f.estimate(t, oldDresser())
	// 4.6 m² in coats of 35 µm of 38 % solids, two of them, of which the brush loses five hundredths: 0.89197 L.
	if n := needOf(got, "water-borne paint (usual)"); n.GetProduct() != "" || n.GetOnHand() != nil || n.GetNeeded().GetValue() != "0.892" || n.GetNeeded().GetUnit() != "L" {
		t.Errorf("paint = %v", n)
	}
	cautions := cautionIDs(got.Cautions)
	sorted := slices.Sorted(slices.Values(cautions))
	if !slices.Contains(cautions, "lead") || len(slices.Compact(sorted)) != len(cautions) {
		t.Errorf("cautions = %v, want each once, of lead too", cautions)
	}
	if got.Stages < 15 || got.AttendedMinutes < 120 || got.AttendedMinutesLow >= got.AttendedMinutes || got.AttendedMinutes >= got.AttendedMinutesHigh || got.LeastDays < 7 || got.AttendedMinutesLearned != 0 {
		t.Errorf("estimate = %v", got)
	}
	if again := f.estimate(t, oldDresser()); !cmp.Equal(got, again, protocmp.Transform()) || len(f.Events(t)) != events {
		t.Errorf("asked again: %v, with %d events after %d", again, len(f.Events(t)), events)
	}
	table := f.estimate(t, oakTable())
	if needOf(table, "wiping stain (usual)") == nil || needOf(table, "water-borne topcoat (usual)") == nil || slices.Contains(cautionIDs(table.Cautions), "lead") || !slices.Contains(cautionIDs(table.Cautions), "oily-rags") {
		t.Errorf("table = %v", table)
	}
}

// It takes the same work as a draft of the same parts with the same products, and no piece is there,
// nor a draft, nor anything else that was not before.
func TestServer_EstimateFinish_AsADraft(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	draft := f.drafted(t, d)
	got := f.estimate(t, d.estimated())
	if int(got.Stages) != len(draft.Stages) || got.AttendedMinutes != draft.AttendedMinutes || got.AttendedMinutesHigh != draft.AttendedMinutesHigh {
		t.Errorf("%d stages, %d minutes, want %d, %d", got.Stages, got.AttendedMinutes, len(draft.Stages), draft.AttendedMinutes)
	}
	if diff := cmp.Diff(draft.Needs, got.Needs, protocmp.Transform()); diff != "" {
		t.Errorf("it needs otherwise:\n%s", diff)
	}
	if diff := cmp.Diff(draft.Findings, got.Findings, protocmp.Transform()); diff != "" {
		t.Errorf("it finds otherwise:\n%s", diff)
	}
	before := f.count(t)
	f.estimate(t, d.estimated())
	if after := f.count(t); after != before {
		t.Errorf("%d rows of plans, pieces and stages after %d", after, before)
	}
}

// estimated asks for the dresser's parts as if the shop did not have it.
func (d *dresser) estimated() *workflowv1.EstimateFinishRequest {
	r := &workflowv1.EstimateFinishRequest{Products: d.draft.Products}
	for i, w := range d.draft.Parts {
		r.Parts = append(r.Parts, &workflowv1.PartToEstimate{Label: d.Parts[i].Label, AreaM2: w.AreaM2, Assessment: w.Assessment, Look: w.Look, Coats: w.Coats, Topcoats: w.Topcoats})
	}
	return r
}

// count counts what a draft would have kept.
func (f *floor) count(t testing.TB) (n int) {
	t.Helper()
	f.scan(t, &n, `SELECT (SELECT count(*) FROM workflow.finish_plan) + (SELECT count(*) FROM workflow.piece) + (SELECT count(*) FROM workflow.stage)`)
	return n
}

// The product that the newest approved plan used is used, with what the shop takes of it; when it
// is gone a usual one is. One that is named goes before.
func TestServer_EstimateFinish_LastUsed(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.approved(t, f.dresser())
	newer := f.dresser()
	newer.draft.Products[1].Product = f.stock.add("blue paint", "0.1", creamSheet())
	f.approved(t, newer)
	f.drafted(t, f.dresser()) // which nobody approved
	blue := f.stock.products[newer.draft.Products[1].Product]
	got := needOf(f.estimate(t, oldDresser()), "blue paint")
	if got.GetProduct() != blue.Name || got.GetOnHand().GetValue() != "0.1" {
		t.Errorf("paint = %v, want the blue", got)
	}
	blue.UsageFactor = 1.5
	if more := needOf(f.estimate(t, oldDresser()), "blue paint"); !(litres(t, more) > 1.4*litres(t, got)) {
		t.Errorf("of what takes half as much again %v is needed, after %v", more, got)
	}
	named := oldDresser()
	named.Products = []*workflowv1.ChosenProduct{{Use: workflowv1.ProductUse_PRODUCT_USE_PAINT, Product: f.stock.add("green paint", "1", creamSheet())}}
	if r := f.estimate(t, named); needOf(r, "green paint") == nil || needOf(r, "blue paint") != nil {
		t.Errorf("green was named: %v", r.Needs)
	}
	blue.CoatingSheet = nil
	if r := f.estimate(t, oldDresser()); needOf(r, "water-borne paint (usual)") == nil {
		t.Errorf("without its data sheet: %v", r.Needs)
	}
	delete(f.stock.products, blue.Name)
	if r := f.estimate(t, oldDresser()); needOf(r, "water-borne paint (usual)") == nil {
		t.Errorf("when it is gone: %v", r.Needs)
	}
}

func litres(t testing.TB, n *workflowv1.MaterialNeed) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(n.GetNeeded().GetValue(), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// What stages took here moves the estimate, and is said to be learned.
func TestServer_EstimateFinish_Learned(t *testing.T) {
	t.Parallel()
	f := setup(t)
	before := f.estimate(t, oldDresser())
	_, stages := f.approved(t, f.dresser())
	off := stages["hardware-off"].Name
	f.works(t, f.person(t, "Nell"), off, 0, 45) // three times the usual
	f.finishAt(t, off, 60)
	after := f.estimate(t, oldDresser())
	if gained := after.AttendedMinutes - before.AttendedMinutes; gained < 10 || gained > 30 {
		t.Errorf("%d minutes more after the hardware took 30 minutes longer", gained)
	}
	if after.AttendedMinutesLearned < 25 || after.AttendedMinutesLearned > 45 {
		t.Errorf("%d minutes learned, want about 34", after.AttendedMinutesLearned)
	}
}

func TestServer_EstimateFinish_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	rags := f.stock.add("rags", "1", nil)
	for name, c := range map[string]struct {
		change       func(*workflowv1.EstimateFinishRequest)
		kind         fault.Kind
		reason, path string
	}{
		"None":    {func(r *workflowv1.EstimateFinishRequest) { r.Parts = nil }, fault.Invalid, "INVALID_FIELD", "parts"},
		"Twice":   {func(r *workflowv1.EstimateFinishRequest) { r.Parts[1].Label = "case" }, fault.Invalid, "PART_TWICE", "parts[1].label"},
		"NoLabel": {func(r *workflowv1.EstimateFinishRequest) { r.Parts[1].Label = "" }, fault.Invalid, "INVALID_FIELD", "parts[1].label"},
		"NoArea":  {func(r *workflowv1.EstimateFinishRequest) { r.Parts[1].AreaM2 = 0 }, fault.Invalid, "INVALID_FIELD", "parts[1].area_m2"},
		"Unseen":  {func(r *workflowv1.EstimateFinishRequest) { r.Parts[0].Assessment = nil }, fault.Invalid, "INVALID_FIELD", "parts[0].assessment"},
		"Look":    {func(r *workflowv1.EstimateFinishRequest) { r.Parts[1].Look = "gold" }, fault.Invalid, "LOOK_UNKNOWN", "parts[1].look"},
		"Coats":   {func(r *workflowv1.EstimateFinishRequest) { r.Parts[1].Coats = 7 }, fault.Invalid, "OUT_OF_RANGE", "parts[1].coats"},
		"Species": {func(r *workflowv1.EstimateFinishRequest) { r.Parts[1].Assessment.Species = "moonwood" }, fault.Invalid, "SPECIES_UNKNOWN", "parts[1].assessment.species"},
		"Family":  {func(r *workflowv1.EstimateFinishRequest) { r.Parts[1].Assessment.OldFinish = "jam" }, fault.Invalid, "FAMILY_UNKNOWN", "parts[1].assessment.old_finish"},
		"Defect":  {func(r *workflowv1.EstimateFinishRequest) { r.Parts[1].Assessment.Defects = []string{"dents", "coffee"} }, fault.Invalid, "DEFECT_UNKNOWN", "parts[1].assessment.defects[1]"},
		"NextYear": {func(r *workflowv1.EstimateFinishRequest) {
			r.Parts[0].Assessment.PaintedIn = int32(time.Now().Year() + 1)
		}, fault.Invalid, "OUT_OF_RANGE", "parts[0].assessment.painted_in"},
		"Product": {chosen(id.Name("products", id.New())), fault.NotFound, "PRODUCT_NOT_FOUND", "products[0].product"},
		"NoSheet": {chosen(rags), fault.Precondition, "COATING_SHEET_MISSING", "products[0].product"},
		"Stained laminate": {func(r *workflowv1.EstimateFinishRequest) {
			r.Parts[1].Look, r.Parts[1].Assessment.Material, r.Parts[1].Assessment.Species = "stain", workflowv1.Assessment_MATERIAL_LAMINATE, ""
		}, fault.Precondition, "PLAN_IMPOSSIBLE", "parts[1]"},
	} {
		r := oldDresser()
		r.Parts[1].Assessment = cloneOf(r.Parts[1].Assessment)
		c.change(r)
		g := svctest.Refused(t, f.Service, workflowv1.NewEstimateServiceClient(f.Conn).EstimateFinish, r, c.kind, c.reason)
		if len(g.Fields) != 1 || g.Fields[0].Path != c.path {
			t.Errorf("%s: refused at %v, want %s", name, g.Fields, c.path)
		}
	}
}

func chosen(product string) func(*workflowv1.EstimateFinishRequest) {
	return func(r *workflowv1.EstimateFinishRequest) {
		r.Products = []*workflowv1.ChosenProduct{{Use: workflowv1.ProductUse_PRODUCT_USE_PAINT, Product: product}}
	}
}

// A piece of twelve parts beside fifty approved plans; the first call is with cold connections.
func BenchmarkEstimateFinish(b *testing.B) {
	f := setup(b)
	d := f.dresser()
	f.approved(b, d)
	f.alter(b, `INSERT INTO piece SELECT gen_random_uuid(), 1000 + n, now(), false, true, 1 FROM generate_series(1, 2000) n`)
	f.alter(b, `INSERT INTO finish_plan (piece_id, version, state, body, reason, actor, drafted_at, approved_at)
		SELECT p.id, 1, 'approved', f.body, '', 'Nell', now(), now() - make_interval(hours => p.tag) FROM piece p CROSS JOIN finish_plan f WHERE p.tag > 1000`)
	r := oldDresser()
	for len(r.Parts) < 12 {
		p := cloneOf(r.Parts[0])
		p.Label = strings.Repeat("shelf ", len(r.Parts))[:6+len(r.Parts)]
		r.Parts = append(r.Parts, p)
	}
	for b.Loop() {
		f.estimate(b, r)
	}
}
