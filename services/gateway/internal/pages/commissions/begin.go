package commissions

import (
	"net/http"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// showNew shows the form of a first estimate for a client; without one, a client is chosen first.
func showNew(w http.ResponseWriter, a *web.Asked) error {
	d, err := newDraft(a, a.URL.Query().Get("client"))
	if err != nil || d == nil {
		if err == nil {
			err = a.After(w, "/clients", "commissions.choose")
		}
		return err
	}
	d.Values = a.URL.Query()
	if err := d.lay(a, nil, blankLines+1); err != nil {
		return err
	}
	return show(w, a, d.title(a), page{Tab: "commissions", Draft: d}, nil)
}

func newDraft(a *web.Asked, client string) (*draft, error) {
	if client == "" {
		return nil, nil
	}
	r, err := a.Kit.Suite.Clients.GetClient(a.Context(), &intakev1.GetClientRequest{Name: "clients/" + client})
	if err != nil {
		return nil, err
	}
	return &draft{Kind: "new", Path: "/commissions/new", Client: r.Client, Values: a.PostForm}, nil
}

func (d draft) title(a *web.Asked) string {
	if d.Kind == "new" {
		return a.Voice.T("commissions.new.title", d.Client.GetDetails().GetDisplayName())
	}
	return a.Voice.T("commissions."+d.Kind+".title", d.Order.GetNumber())
}

func begin(w http.ResponseWriter, a *web.Asked) error {
	d, err := newDraft(a, a.Typed("client"))
	if err != nil || d == nil {
		if err == nil {
			err = a.After(w, "/clients", "commissions.choose")
		}
		return err
	}
	if done, err := d.step(w, a, d.title(a)); done {
		return err
	}
	r := &intakev1.DraftEstimateRequest{RequestId: a.RequestID(), Client: d.Client.Name, Description: a.Typed("description")}
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	if r.Draft, err = draftOf(f); err == nil {
		r.Piece, err = pieceNamed(a, a.Typed("piece"))
	}
	var made *intakev1.DraftEstimateResponse
	if err == nil {
		made, err = a.Kit.Suite.Commissions.DraftEstimate(a.Context(), r)
	}
	if err != nil {
		return d.again(w, a, d.title(a), err)
	}
	return a.After(w, addressOf(made.Commission), "commissions.drafted")
}

// pieceNamed is the name of a piece by its tag number; empty: none was said.
func pieceNamed(a *web.Asked, tag string) (string, error) {
	if tag == "" {
		return "", nil
	}
	r, err := a.Kit.Suite.Intake.GetPiece(a.Context(), &intakev1.GetPieceRequest{Name: "pieces/tag:" + tag})
	return r.GetPiece().GetName(), err
}

// ordered is a commission by the id in the address.
func ordered(a *web.Asked) (*intakev1.CommissionOrder, error) {
	r, err := a.Kit.Suite.Commissions.GetCommission(a.Context(), &intakev1.GetCommissionRequest{Name: "commissions/" + a.PathValue("id")})
	return r.GetCommission(), err
}

// drafted is the form of the next version, or of a change order.
func drafted(a *web.Asked, kind string) (*draft, error) {
	c, err := ordered(a)
	if err != nil {
		return nil, err
	}
	return &draft{Kind: kind, Path: addressOf(c) + "/" + kind, Order: c, Etag: c.Etag, Values: a.PostForm}, nil
}

func showRevise(w http.ResponseWriter, a *web.Asked) error {
	d, err := drafted(a, "revise")
	if err != nil {
		return err
	}
	last := newest(d.Order)
	d.Values = draftValues(a.Voice, last)
	if err := d.lay(a, rowsOf(a.Voice, last.GetDraft().GetLines()), blankLines); err != nil {
		return err
	}
	return show(w, a, d.title(a), page{Tab: "commissions", Draft: d}, nil)
}

func revise(w http.ResponseWriter, a *web.Asked) error {
	d, err := drafted(a, "revise")
	if err != nil {
		return err
	}
	if done, err := d.step(w, a, d.title(a)); done {
		return err
	}
	r := &intakev1.ReviseEstimateRequest{RequestId: a.RequestID(), Commission: d.Order.Name, Reason: a.Typed("reason"), Etag: a.Typed("etag")}
	if r.Draft, err = draftOf(&typed.Form{Values: a.PostForm, Voice: a.Voice}); err == nil {
		_, err = a.Kit.Suite.Commissions.ReviseEstimate(a.Context(), r)
	}
	if err != nil {
		return d.again(w, a, d.title(a), movedOn(a, err))
	}
	return a.After(w, addressOf(d.Order), "commissions.revised")
}

func showChange(w http.ResponseWriter, a *web.Asked) error {
	d, err := drafted(a, "change")
	if err != nil {
		return err
	}
	if err := d.lay(a, nil, blankLines); err != nil {
		return err
	}
	return show(w, a, d.title(a), page{Tab: "commissions", Draft: d}, nil)
}

func addChange(w http.ResponseWriter, a *web.Asked) error {
	d, err := drafted(a, "change")
	if err != nil {
		return err
	}
	if done, err := d.step(w, a, d.title(a)); done {
		return err
	}
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	r := &intakev1.AddChangeOrderRequest{RequestId: a.RequestID(), Commission: d.Order.Name, Reason: a.Typed("reason"), Promised: f.Day("promised"), Etag: a.Typed("etag")}
	if r.Lines, err = linesOf(f); err == nil {
		_, err = a.Kit.Suite.Commissions.AddChangeOrder(a.Context(), r)
	}
	if err != nil {
		return d.again(w, a, d.title(a), movedOn(a, err))
	}
	return a.After(w, addressOf(d.Order)+"#changes", "commissions.changed")
}

// newest is the last version of the estimate.
func newest(c *intakev1.CommissionOrder) *intakev1.Estimate {
	if n := len(c.GetEstimates()); n > 0 {
		return c.Estimates[n-1]
	}
	return nil
}
