package e2e_test

import (
	"testing"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
)

// assesses looks at a part of a piece twice.
func assesses(t *testing.T, shop *client.Shop) {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Lead"})
	p, err := shop.Piece(ctx, "101")
	if err != nil {
		t.Fatal(err)
	}
	seen := &intakev1.PartSeen{Material: "veneer", Species: "walnut", Veneer: &typev1.Quantity{Value: "0.7", Unit: "mm"}, OldFinish: "shellac", Waxed: true, PaintedIn: 1930, PaintedInDecade: true,
		Condition: typev1.PieceCondition_PIECE_CONDITION_WORN, Note: "sun-bleached", Defects: []*intakev1.PartDefect{{Kind: "veneer chip", Severity: intakev1.PartDefect_SEVERITY_TO_MEND, Where: "front edge", Note: "a thumb wide"}}}
	for range 2 {
		if _, err := shop.Assessments.AssessPart(ctx, &intakev1.AssessPartRequest{RequestId: id.New().String(), Part: p.Parts[0].Name, Seen: seen}); err != nil {
			t.Fatal(err)
		}
		seen.OldStain = true
	}
}
