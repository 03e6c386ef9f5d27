package buying

import (
	"net/http"
	"strconv"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/web"
)

func bought(w http.ResponseWriter, a *web.Asked) error {
	p, err := find(a)
	if err != nil {
		return err
	}
	p.Etag = a.Typed("etag")
	return buy(w, a, p)
}

func left(w http.ResponseWriter, a *web.Asked) error {
	p, err := find(a)
	if err != nil {
		return err
	}
	p.Etag = a.Typed("etag")
	return decline(w, a, p)
}

// decidable refuses a decision, "bought" or "left", that says too little or cannot be read, before anything is
// kept. Faults: PAID_MISSING, REASON_MISSING and those of package typed.
func decidable(a *web.Asked, then string) error {
	f := wishForm(a.Voice, a.PostForm)
	paid := f.Money("paid")
	switch {
	case then == "bought" && f.Err() != nil:
		return f.Err()
	case then == "bought" && paid == nil:
		return fault.New(fault.Invalid, "PAID_MISSING", "%s", a.Voice.T("buying.paid.missing")).At("paid")
	case then == "left" && f.Text("reason") == "":
		return fault.New(fault.Invalid, "REASON_MISSING", "%s", a.Voice.T("buying.reason.missing")).At("reason")
	}
	return nil
}

// decisionID is the id of what is done with a prospect; the form's own is that of keeping it.
func decisionID(a *web.Asked) string {
	if given := a.Typed("decision_id"); given != "" {
		return given
	}
	return a.RequestID()
}

// buy takes in what was bought, and goes on to the piece.
func buy(w http.ResponseWriter, a *web.Asked, p *intakev1.Prospect) error {
	f, err := wishForm(a.Voice, a.PostForm), decidable(a, "bought")
	var r *intakev1.BuyProspectResponse
	if err == nil {
		r, err = a.Kit.Suite.Prospects.BuyProspect(a.Context(), &intakev1.BuyProspectRequest{RequestId: decisionID(a), Prospect: p.Name, Price: f.Money("paid"),
			Source: f.Text("from"), Etag: p.Etag})
	}
	if err != nil {
		return again(w, a, p, err)
	}
	return a.After(w, "/pieces/"+strconv.Itoa(int(r.Piece.Tag)), "buying.bought.done")
}

// decline notes why it was left, and goes on to the next piece.
func decline(w http.ResponseWriter, a *web.Asked, p *intakev1.Prospect) error {
	err := decidable(a, "left")
	if err == nil {
		_, err = a.Kit.Suite.Prospects.DeclineProspect(a.Context(), &intakev1.DeclineProspectRequest{RequestId: decisionID(a), Prospect: p.Name, Reason: a.Typed("reason"), Etag: p.Etag})
	}
	if err != nil {
		return again(w, a, p, err)
	}
	return a.After(w, "/buying", "buying.left.done")
}

// again shows a prospect as it is now, with why nothing became of what was sent.
func again(w http.ResponseWriter, a *web.Asked, p *intakev1.Prospect, refused error) error {
	if !web.Refusal(refused) {
		return refused
	}
	if r, err := a.Kit.Suite.Prospects.GetProspect(a.Context(), &intakev1.GetProspectRequest{Name: p.Name}); err == nil {
		p = r.Prospect
	}
	return showOneWith(w, a, p, refused)
}
