package server_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// look is an assessment of a part, with nothing wrong in it.
func look(part string) *intakev1.AssessPartRequest {
	return &intakev1.AssessPartRequest{RequestId: svctest.NewID(), Part: part, Seen: &intakev1.PartSeen{
		Material: "veneer", Species: "walnut", Veneer: &typev1.Quantity{Value: "0.7", Unit: "mm"}, OldFinish: "shellac", Waxed: true, PaintedIn: 1930, PaintedInDecade: true,
		Condition: typev1.PieceCondition_PIECE_CONDITION_DAMAGED, Note: "sun-bleached",
		Defects: []*intakev1.PartDefect{{Kind: "veneer chip", Severity: intakev1.PartDefect_SEVERITY_TO_MEND, Where: "front edge", Note: "a thumb wide"}},
	}, AssessTime: timestamppb.New(time.Date(2026, 3, 3, 12, 0, 0, 0, time.UTC))}
}

func (b *bundle) assess(t testing.TB, r *intakev1.AssessPartRequest) *intakev1.PartAssessment {
	t.Helper()
	resp, err := b.AssessPart(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Assessment
}

func TestServer_AssessPart(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	photo := b.add(t, header(piece.Name), shot(t, 1))
	r := look(piece.Parts[0].Name)
	r.Seen.Defects[0].Photos = []string{photo.Name}
	r.Etag = `"0"`
	got := b.assess(t, r)
	want := &intakev1.PartAssessment{Part: r.Part, PartLabel: "case", Count: 1, Seen: r.Seen, AssessTime: r.AssessTime, Etag: `"1"`, Actor: got.Actor,
		VeneerFloor: &intakev1.VeneerFloor{Thickness: &typev1.Quantity{Value: "0.7", Unit: "mm"}, Floor: &typev1.Quantity{Value: "0.2", Unit: "mm"},
			Sandable: &typev1.Quantity{Value: "0.5", Unit: "mm"}, Rule: "rules/veneer-left", Source: "common practice"}}
	if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" || got.Actor == "" {
		t.Errorf("AssessPart (-want +got):\n%s", diff)
	}
	again, err := b.AssessPart(svctest.Ctx(t), r)
	if err != nil || !proto.Equal(again.Assessment, got) {
		t.Errorf("AssessPart asked again = %v, %v", again, err)
	}
	read, err := b.GetAssessment(t.Context(), &intakev1.GetAssessmentRequest{Piece: piece.Name})
	if err != nil {
		t.Fatal(err)
	}
	all := &intakev1.GetAssessmentResponse{Piece: piece.Name, PieceTag: piece.Tag, NotAssessed: 1,
		Parts: []*intakev1.PartAssessment{got, {Part: piece.Parts[1].Name, PartLabel: "drawer", Count: 4, Etag: `"0"`}}}
	if diff := cmp.Diff(all, read, protocmp.Transform()); diff != "" {
		t.Errorf("GetAssessment (-want +got):\n%s", diff)
	}
}

// A later assessment replaces the former, which stays in the event.
func TestServer_AssessPart_TellsOldAndNew(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	first := look(piece.Parts[0].Name)
	b.assess(t, first)
	old := &eventsv1.PartAppearance{Material: "veneer", Species: "walnut", VeneerMm: "0.7", OldFinish: "shellac", Waxed: true, PaintedIn: 1930, PaintedInDecade: true,
		Condition: "damaged", Note: "sun-bleached", Defects: []*eventsv1.PartDefectSeen{{Kind: "veneer chip", Severity: "to_mend", Where: "front edge", Note: "a thumb wide"}}}
	told := &eventsv1.PartAssessed{PartId: piece.Parts[0].Name[len(piece.Name+"/parts/"):], PartLabel: "case", New: old}
	if diff := cmp.Diff(told, b.Last(t).GetPartAssessed(), protocmp.Transform()); diff != "" {
		t.Errorf("first event (-want +got):\n%s", diff)
	}
	second := look(piece.Parts[0].Name)
	second.Etag = `"1"`
	second.Seen = &intakev1.PartSeen{Material: "MDF", OldFinish: "bare"}
	got := b.assess(t, second)
	if got.Etag != `"2"` || got.VeneerFloor != nil || !proto.Equal(got.Seen, second.Seen) {
		t.Errorf("AssessPart once more = %v", got)
	}
	told.Old, told.New = old, &eventsv1.PartAppearance{Material: "mdf", OldFinish: "bare"}
	e := b.Last(t)
	if diff := cmp.Diff(told, e.GetPartAssessed(), protocmp.Transform()); diff != "" || e.Version != 2 || e.AggregateKind != "part" || e.PieceId == "" {
		t.Errorf("second event = %v (-want +got):\n%s", e, diff)
	}
	second.RequestId = svctest.NewID()
	svctest.Refused(t, b.Service, b.AssessPart, second, fault.Conflict, "ETAG_MISMATCH")
}

func TestServer_AssessPart_Refuses(t *testing.T) {
	b := setup(t)
	piece, other := b.take(t, dresser()), b.take(t, dresser())
	of := b.add(t, header(other.Name), shot(t, 1))
	gone := b.add(t, header(piece.Name), shot(t, 2))
	if _, err := b.RemovePhoto(svctest.Ctx(t), &intakev1.RemovePhotoRequest{RequestId: svctest.NewID(), Photo: gone.Name, Reason: "blurred"}); err != nil {
		t.Fatal(err)
	}
	photo := func(name string) func(*intakev1.AssessPartRequest) {
		return func(r *intakev1.AssessPartRequest) { r.Seen.Defects[0].Photos = []string{name} }
	}
	tests := map[string]struct {
		change func(*intakev1.AssessPartRequest)
		kind   fault.Kind
		reason string
	}{
		"no such piece":          {func(r *intakev1.AssessPartRequest) { r.Part = id.Name("pieces", id.New(), "parts", id.New()) }, fault.NotFound, "PIECE_NOT_FOUND"},
		"a part of another":      {func(r *intakev1.AssessPartRequest) { r.Part = piece.Name + other.Parts[0].Name[len(other.Name):] }, fault.NotFound, "PART_NOT_FOUND"},
		"no part at all":         {func(r *intakev1.AssessPartRequest) { r.Part = piece.Name }, fault.Invalid, "INVALID_NAME"},
		"photo of another piece": {photo(of.Name), fault.Invalid, "PHOTO_OF_ANOTHER_PIECE"},
		"photo removed":          {photo(gone.Name), fault.Precondition, "PHOTO_REMOVED"},
		"no such photo":          {photo(id.Name("photos", id.New())), fault.NotFound, "PHOTO_NOT_FOUND"},
		"photo without a name":   {photo("1"), fault.Invalid, "INVALID_NAME"},
		"unknown species":        {func(r *intakev1.AssessPartRequest) { r.Seen.Species = "plastic" }, fault.Invalid, "SPECIES_UNKNOWN"},
		"veneer on solid wood":   {func(r *intakev1.AssessPartRequest) { r.Seen.Material = "solid wood" }, fault.Invalid, "VENEER_OF_NO_VENEER"},
		"thickness of no unit":   {func(r *intakev1.AssessPartRequest) { r.Seen.Veneer.Unit = "ell" }, fault.Invalid, "UNIT_UNKNOWN"},
		"thickness of no number": {func(r *intakev1.AssessPartRequest) { r.Seen.Veneer.Value = "1e9" }, fault.Invalid, "INVALID_FIELD"},
		"year to come":           {func(r *intakev1.AssessPartRequest) { r.Seen.PaintedIn, r.Seen.PaintedInDecade = 9990, true }, fault.Invalid, "YEAR_IN_FUTURE"},
		"no such material":       {func(r *intakev1.AssessPartRequest) { r.Seen.Material = "glass" }, fault.Invalid, "INVALID_FIELD"},
		"looked at tomorrow":     {func(r *intakev1.AssessPartRequest) { r.AssessTime = timestamppb.New(time.Now().Add(24 * time.Hour)) }, fault.Invalid, "TIME_IN_FUTURE"},
		"from an older reading":  {func(r *intakev1.AssessPartRequest) { r.Etag = `"7"` }, fault.Conflict, "ETAG_MISMATCH"},
	}
	for name, tc := range tests {
		t.Run(name, func(t *testing.T) {
			r := look(piece.Parts[0].Name)
			tc.change(r)
			svctest.Refused(t, b.Service, b.AssessPart, r, tc.kind, tc.reason)
		})
	}
	if _, err := b.ScrapPiece(svctest.Ctx(t), &intakev1.ScrapPieceRequest{RequestId: svctest.NewID(), Piece: other.Name, Reason: "worm"}); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, b.Service, b.AssessPart, look(other.Parts[0].Name), fault.Precondition, "PIECE_SCRAPPED")
	svctest.Refused(t, b.Service, b.GetAssessment, &intakev1.GetAssessmentRequest{Piece: id.Name("pieces", id.New())}, fault.NotFound, "PIECE_NOT_FOUND")
}
