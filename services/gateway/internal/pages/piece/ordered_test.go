package piece_test

import (
	"net/http"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// A client's piece leads to what was ordered on it, for whoever may read that; a page without it is still a page.
func TestPiece_LeadsToItsCommission(t *testing.T) {
	b := setup(t)
	const link = `href="/commissions/o1"`
	b.keeps(b.get("owner", "/pieces/401"), "/commissions/o")
	p := b.answers["GetPiece"].(*intakev1.GetPieceResponse).Piece
	p.Origin = &intakev1.Piece_Commission{Commission: &intakev1.Commission{Client: "Ana"}}
	b.keeps(b.get("owner", "/pieces/401"), "/commissions/o")
	b.answers["ListCommissions"] = &intakev1.ListCommissionsResponse{Commissions: []*intakev1.CommissionOrder{{Name: "commissions/o1", Number: 12}}}
	b.says(b.get("lead", "/pieces/401"), http.StatusOK, link, "Commission 12")
	if want := (&intakev1.ListCommissionsRequest{Piece: p.Name, PageSize: 1}); !proto.Equal(b.asked["ListCommissions"], want) {
		t.Errorf("asked %v", b.asked["ListCommissions"])
	}
	b.keeps(b.get("helper", "/pieces/401"), link)
	b.refuses["ListCommissions"] = fault.New(fault.Unavailable, "SERVICE_UNAVAILABLE", "Away.")
	b.says(b.get("owner", "/pieces/401"), http.StatusOK, "Ana")
}
