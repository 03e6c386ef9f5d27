package pieces

import (
	"net/http"
	"net/url"
	"strconv"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/web"
)

// whoseOf is what the form begins with: for a client that is named in the address it is their own, and for a commission
// of theirs it is brought for it.
func whoseOf(a *web.Asked) (url.Values, error) {
	q := a.URL.Query()
	if q.Get("client") == "" {
		return url.Values{}, nil
	}
	r, err := a.Kit.Suite.Clients.GetClient(a.Context(), &intakev1.GetClientRequest{Name: recordOf(q.Get("client"))})
	if err != nil {
		return nil, err
	}
	return url.Values{"origin": {"client"}, "client": {r.GetClient().GetDetails().GetDisplayName()}, "record": {q.Get("client")}, "commission": {q.Get("commission")}}, nil
}

// recordOf is the name of a client by its id; empty: the shop knows only what they are called.
func recordOf(id string) string {
	if id == "" {
		return ""
	}
	return "clients/" + id
}

// brought tells the commission which piece was brought for it. A piece that is in stays in if that is refused: its page
// is shown, and the commission can be told later.
func brought(w http.ResponseWriter, a *web.Asked, commission string, p *intakev1.Piece) error {
	_, err := a.Kit.Suite.Commissions.BringPiece(a.Context(), &intakev1.BringPieceRequest{RequestId: a.Typed("bring_id"), Commission: "commissions/" + commission, Piece: p.Name})
	switch {
	case web.Refusal(err):
		return a.After(w, "/pieces/"+strconv.Itoa(int(p.Tag)), "takein.not.brought")
	case err != nil:
		return err
	}
	return a.After(w, "/commissions/"+commission, "takein.brought")
}
