package browser_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tackfree/pkg/caller"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// A lead says on a phone what they see of a part; the page then says it, with what sanding may take of its veneer.
func TestPiece_Assessed(t *testing.T) {
	s := floor(t)
	p := sideboard(t, s, "Maple sideboard")
	b := window(t, s.PagesURL(), phone)
	b.signIn(lead, leadSecret)
	b.open(pageOf(p))
	form := `details[id^="assess-"]`
	b.do(click(form+" > summary"), chromedp.SetValue(form+" select[name=material]", "veneer"), chromedp.SetValue(form+" select[name=old]", "shellac"), keys(form+" input[name=veneer]", "0.6"),
		keys(form+" input[name=painted]", "1930s"), chromedp.SetValue(form+" select[name=kind]", "burn"), keys(form+" input[name=where]", "rim <left>"), click(form+" button.do"), chromedp.WaitVisible("main > .said"))
	if said := b.text("main"); !strings.Contains(said, "At most 0.4 mm of it may be sanded off") || !strings.Contains(said, "to mend, rim <left>") || !strings.Contains(said, "put on in the 1930s") {
		t.Errorf("the page says:\n%s", said)
	}
	got, err := s.Shop.Assessments.GetAssessment(caller.With(t.Context(), caller.Caller{Actor: owner}), &intakev1.GetAssessmentRequest{Piece: p.Name})
	if err != nil || got.NotAssessed != 0 || got.Parts[0].GetSeen().GetDefects()[0].GetWhere() != "rim <left>" {
		t.Errorf("GetAssessment = %v, %v", got, err)
	}
	looks(t, b, "piece-assessed", pageOf(p))
}

func TestBuying_SourcesLook(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), phone)
	b.signIn(owner, ownerSecret)
	looks(t, b, "buying-sources", "/buying/sources")
	if said := b.text("main"); !strings.Contains(said, "Drawn towards all") {
		t.Errorf("the page says:\n%s", said)
	}
}
