package commissions

import (
	"net/http"
	"net/url"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/web"
)

// headFields are those of the form of the letterhead.
var headFields = []edits.Field{{Name: "shop_name"}, {Name: "address", Many: true}, {Name: "phone"}, {Name: "email"}, {Name: "web"}, {Name: "tax_number"}, {Name: "closing"}, {Name: "paper"}}

var paperOf = map[string]intakev1.Letterhead_Paper{"a4": intakev1.Letterhead_PAPER_A4, "letter": intakev1.Letterhead_PAPER_LETTER}

func headValues(l *intakev1.Letterhead) url.Values {
	q := url.Values{"shop_name": {l.GetShopName()}, "address": l.GetAddress(), "phone": {l.GetPhone()}, "email": {l.GetEmail()}, "web": {l.GetWeb()}, "tax_number": {l.GetTaxNumber()}, "closing": {l.GetClosing()}, "paper": {""}}
	for word, is := range paperOf {
		if is == l.GetPaper() {
			q.Set("paper", word)
		}
	}
	return q
}

func showLetterhead(w http.ResponseWriter, a *web.Asked) error {
	r, err := a.Kit.Suite.Intake.GetLetterhead(a.Context(), &intakev1.GetLetterheadRequest{})
	if err != nil {
		return err
	}
	return show(w, a, a.Voice.T("commissions.letterhead"), page{Tab: "letterhead", Head: sheetOf("commissions.head", headValues(r.Letterhead), r.Letterhead.GetEtag())}, nil)
}

func setLetterhead(w http.ResponseWriter, a *web.Asked) error {
	l := &intakev1.Letterhead{ShopName: a.Typed("shop_name"), Address: linesIn(a.PostForm["address"]), Phone: a.Typed("phone"), Email: a.Typed("email"), Web: a.Typed("web"), TaxNumber: a.Typed("tax_number"),
		Closing: a.Typed("closing"), Paper: paperOf[a.Typed("paper")]}
	_, err := a.Kit.Suite.Intake.SetLetterhead(a.Context(), &intakev1.SetLetterheadRequest{RequestId: a.RequestID(), Letterhead: l, Etag: a.Typed("etag")})
	if web.Refusal(err) {
		r, missing := a.Kit.Suite.Intake.GetLetterhead(a.Context(), &intakev1.GetLetterheadRequest{})
		if missing != nil {
			return missing
		}
		s, refused := refusedSheet(a, "commissions.head", headFields, headValues(r.Letterhead), r.Letterhead.GetEtag(), err)
		return show(w, a, a.Voice.T("commissions.letterhead"), page{Tab: "letterhead", Head: s}, refused)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/letterhead", "commissions.letterhead.kept")
}
