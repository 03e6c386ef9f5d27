package piece_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// A piece that was sold, invoiced or given up says so, and offers no work: what can come back of a sale and of what
// was noted, and what others still have of it, is all that is left. Who is not told the price reads when.
func TestPiece_ThatIsGone(t *testing.T) {
	work := []string{"do-promise", "do-move", "do-send-back", "do-send-out", "do-plan", "do-inspect", "do-list", "do-asking", "do-sell", "do-scrap"}
	sale := &salesv1.Sale{Name: "sales/1", SaleTime: ago(20 * time.Hour), Price: usd(615, 0), Buyer: "R. Okafor"}
	sold := func(b *bundle) {
		b.answers["GetListing"] = &salesv1.GetListingResponse{Listing: &salesv1.Listing{State: salesv1.Listing_STATE_SOLD, Sales: []*salesv1.Sale{{Price: usd(1, 0), PieceReturned: true}, sale}}}
	}
	owned := func(b *bundle) {
		sold(b)
		b.answers["GetPiece"].(*intakev1.GetPieceResponse).Piece.Origin = &intakev1.Piece_Commission{Commission: &intakev1.Commission{Client: "Ana"}}
	}
	scrapped := func(b *bundle) {
		p := b.answers["GetPiece"].(*intakev1.GetPieceResponse).Piece
		p.State, p.ScrapReason = intakev1.Piece_STATE_SCRAPPED, "beetles"
	}
	untold := func(b *bundle) {
		sold(b)
		l := b.answers["GetListing"].(*salesv1.GetListingResponse).Listing
		l.Sales = []*salesv1.Sale{{Name: "sales/1", SaleTime: sale.SaleTime}}
	}
	for name, c := range map[string]struct {
		is     func(*bundle)
		who    string
		says   []string
		offers []string
	}{
		"sold, to its owner":    {sold, "owner", []string{"sold on 17 Mar 2026 for 615.00", "to R. Okafor"}, []string{"do-refund", "do-return", "do-correct", "do-receive"}},
		"sold, to a lead":       {sold, "lead", []string{"sold on 17 Mar 2026 for 615.00"}, []string{"do-return", "do-correct", "do-receive"}},
		"sold, to a helper":     {untold, "helper", []string{"sold on 17 Mar 2026<"}, []string{"do-return"}},
		"invoiced":              {owned, "owner", []string{"invoiced to its owner on 17 Mar 2026 for 615.00"}, []string{"do-refund"}},
		"given up, to an owner": {scrapped, "owner", []string{"Given up: beetles", ">given up<"}, []string{"do-return", "do-receive"}},
	} {
		b := setup(t)
		before := b.get(c.who, "/pieces/401")
		b.says(before, http.StatusOK, "do-move", "ready to work on")
		b.keeps(before, "sold on", "invoiced to")
		c.is(b)
		w := b.get(c.who, "/pieces/401")
		b.says(w, http.StatusOK, append(c.says, c.offers...)...)
		b.keeps(w, append(work, "ready to work on")...)
		if strings.Contains(c.who, "helper") {
			b.keeps(w, "615", "Okafor")
		}
		if t.Failed() {
			t.Fatal(name)
		}
	}
	// It came back: it is worked on again.
	b := setup(t)
	b.answers["GetListing"] = &salesv1.GetListingResponse{Listing: &salesv1.Listing{State: salesv1.Listing_STATE_NOT_LISTED, Sales: []*salesv1.Sale{{Price: usd(1, 0), PieceReturned: true}}}}
	b.says(b.get("owner", "/pieces/401"), http.StatusOK, "do-move", "do-sell", "ready to work on")
	// Without sales nobody knows, and the page is there.
	b = setup(t)
	b.refuses["GetListing"] = fault.New(fault.Unavailable, "AWAY", "It is away.")
	b.says(b.get("lead", "/pieces/401"), http.StatusOK, "do-move", "ready to work on")
}

// What was sold and came back to be mended is here: it says both, is worked on, and is neither sold again nor given up.
// What is wrong with it, since when and who bears it is for leads and owners.
func TestPiece_ThatCameBack(t *testing.T) {
	b := setup(t)
	b.answers["GetListing"] = &salesv1.GetListingResponse{Listing: &salesv1.Listing{State: salesv1.Listing_STATE_SOLD, Sales: []*salesv1.Sale{{Name: "sales/1", SaleTime: ago(20 * time.Hour), Price: usd(615, 0)}}}}
	b.answers["ListBoard"].(*workflowv1.ListBoardResponse).Lines[0].Comeback = "comebacks/1"
	back := &workflowv1.Comeback{Name: "comebacks/1", Piece: thePiece, ReportTime: ago(20 * time.Hour), ReportedBy: "R. Okafor", Warranty: true,
		Faults: []*workflowv1.Defect{{Kind: "fish_eye", PartLabel: "top", Note: "by the <edge>"}}}
	b.answers["ListComebacks"] = &workflowv1.ListComebacksResponse{Comebacks: []*workflowv1.Comeback{back}}
	told := []string{"fish eye (top): by the &lt;edge&gt;", "since 17 Mar 2026", "R. Okafor", "warranty: the shop bears it"}
	for who, says := range map[string][]string{"owner": append(told, "do-refund"), "lead": told, "helper": nil} {
		w := b.get(who, "/pieces/401")
		b.says(w, http.StatusOK, append(says, "sold; here to be mended", "do-move", "ready to work on")...)
		b.keeps(w, "sold on 17 Mar", "do-scrap", "do-sell", "do-list", "charged to its owner")
		if who == "helper" {
			b.keeps(w, "fish eye", "Okafor", "warranty")
		}
	}
	if r := b.asked["ListComebacks"].(*workflowv1.ListComebacksRequest); r.Piece != thePiece || !r.OpenOnly {
		t.Errorf("asked %v", r)
	}
	back.Warranty = false
	b.says(b.get("lead", "/pieces/401"), http.StatusOK, "charged to its owner")
}
