package price

import (
	"net/http"
	"net/url"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// ask asks a price for the piece from now on: anew where it is listed, and else by listing it.
func ask(w http.ResponseWriter, a *web.Asked) error {
	r, err := a.Kit.Suite.Intake.GetPiece(a.Context(), &intakev1.GetPieceRequest{Name: "pieces/tag:" + a.PathValue("tag")})
	if err != nil {
		return err
	}
	said, err := askFor(a, r.Piece.Name)
	if web.Refusal(err) {
		return showAdviceWith(w, a, questionIn(a), err)
	}
	if err != nil {
		return err
	}
	back := url.URL{Path: "/money/price/" + a.PathValue("tag"), RawQuery: questionIn(a).Encode()}
	return a.After(w, back.String(), said)
}

// askFor gives the command. Faults: PRICE_MISSING, CHANNEL_MISSING, and those of sales.
func askFor(a *web.Asked, piece string) (said string, err error) {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	price := f.Money("price")
	if err := f.Err(); err != nil {
		return "", err
	}
	if price == nil {
		return "", fault.New(fault.Invalid, "PRICE_MISSING", "%s", a.Voice.T("price.missing")).At("price")
	}
	if f.Text("listed") != "" {
		reason := f.Text("reason")
		if reason == "" {
			reason = a.Voice.T("price.reason.advised")
		}
		_, err = a.Kit.Suite.Sales.ChangeAskingPrice(a.Context(), &salesv1.ChangeAskingPriceRequest{RequestId: a.RequestID(), Piece: piece, AskingPrice: price, Reason: reason, Etag: f.Text("etag")})
		return "price.asked", err
	}
	if f.Text("channel") == "" {
		return "", fault.New(fault.Invalid, "CHANNEL_MISSING", "%s", a.Voice.T("price.channel.missing")).At("channel")
	}
	_, err = a.Kit.Suite.Sales.CreateListing(a.Context(), &salesv1.CreateListingRequest{RequestId: a.RequestID(), Piece: piece, Channel: f.Text("channel"), AskingPrice: price})
	return "price.listed", err
}
