package piece_test

import (
	"net/http"
	"testing"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// A piece that somebody saw before it was bought says to its owner what was ticked and advised, with the way there;
// who does not buy is told nothing of it, nor is intake asked.
func TestPiece_SeenBefore(t *testing.T) {
	b := setup(t)
	b.answers["GetPiece"].(*intakev1.GetPieceResponse).Piece.Prospect = "prospects/one"
	b.answers["GetProspect"] = &intakev1.GetProspectResponse{Prospect: &intakev1.Prospect{Name: "prospects/one",
		Sighting: &intakev1.Sighting{Defects: []string{"loose joint", "water ring"}, OldFinish: "alkyd or oil varnish", Look: "paint"},
		Advice:   &intakev1.Advice{Hours: &intakev1.NumberRange{Low: 4, Likely: 6.5, High: 9}, SalePrice: &intakev1.MoneyRange{Likely: usd(318, 40)}, MostToPay: usd(45, 90)}}}
	w := b.get("owner", "/pieces/401")
	b.says(w, http.StatusOK, "Seen before it was bought:", `href="/buying/seen/one"`, "it wobbles", "old finish: alkyd or oil varnish", "to be painted.</a>",
		"Advised: 6:30 hours (4:00 to 9:00), sells for about 318, most to pay 45.")
	b.keeps(w, "[piece.", "[film.", "%!")
	delete(b.asked, "GetProspect")
	lead := b.get("lead", "/pieces/401")
	b.keeps(lead, "Seen before", "318")
	if b.asked["GetProspect"] != nil {
		t.Error("a lead's page asks for what an owner saw")
	}
	b.answers["GetProspect"].(*intakev1.GetProspectResponse).Prospect.Advice.MostToPay = usd(-20, 0)
	b.says(b.get("owner", "/pieces/401"), http.StatusOK, "most to pay 0.")
	b.refuses["GetProspect"] = fault.New(fault.Unavailable, "AWAY", "Not now.")
	b.says(b.get("owner", "/pieces/401"), http.StatusOK, "Walnut stain")
}

// Of a piece that nobody noted before there is no such line.
func TestPiece_NobodySawItBefore(t *testing.T) {
	b := setup(t)
	b.keeps(b.get("owner", "/pieces/401"), "Seen before", "/buying/seen/")
	if b.asked["GetProspect"] != nil {
		t.Error("it asks for a prospect that there is not")
	}
}
