package commissions

import (
	"net/http"
	"net/url"
	"strings"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/web"

	"context"
)

// clientList is clients, all or those of whom something is searched.
type clientList struct {
	Find string
	All  bool // those too who are off the list
	Each []*intakev1.Client
	Next string
}

// clientPage is a client with what they brought and ordered; of a new one, a form alone.
type clientPage struct {
	*intakev1.Client
	Path        string
	Form        *sheet
	Commissions []line
	Pieces      []*intakev1.Piece
}

// clientFields are those of the form of a client.
var clientFields = []edits.Field{{Name: "display_name"}, {Name: "phone"}, {Name: "email"}, {Name: "address", Many: true}, {Name: "exempt"}, {Name: "certificate"}}

func clientValues(c *intakev1.Client) url.Values {
	d := c.GetDetails()
	return url.Values{"display_name": {d.GetDisplayName()}, "phone": {d.GetPhone()}, "email": {d.GetEmail()}, "address": d.GetAddress(),
		"exempt": {d.GetTaxExemption().GetReason()}, "certificate": {d.GetTaxExemption().GetNumber()}}
}

// detailsOf reads the form of a client.
func detailsOf(a *web.Asked) *intakev1.ClientDetails {
	d := &intakev1.ClientDetails{DisplayName: a.Typed("display_name"), Phone: a.Typed("phone"), Email: a.Typed("email"), Address: linesIn(a.PostForm["address"])}
	if reason, number := a.Typed("exempt"), a.Typed("certificate"); reason != "" || number != "" {
		d.TaxExemption = &intakev1.TaxExemption{Reason: reason, Number: number}
	}
	return d
}

// linesIn are the lines that say something.
func linesIn(all []string) (out []string) {
	for _, l := range all {
		if l = strings.TrimSpace(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}

func showClients(w http.ResponseWriter, a *web.Asked) error {
	q := a.URL.Query()
	it := &clientList{Find: strings.TrimSpace(q.Get("find")), All: q.Get("all") != ""}
	r, err := a.Kit.Suite.Clients.ListClients(a.Context(), &intakev1.ListClientsRequest{Search: it.Find, ShowRetired: it.All, PageSize: pageSize, PageToken: q.Get("page")})
	if err != nil {
		return err
	}
	if it.Each = r.Clients; r.NextPageToken != "" {
		q.Set("page", r.NextPageToken)
		it.Next = "/clients?" + q.Encode()
	}
	return show(w, a, a.Voice.T("commissions.clients"), page{Tab: "clients", Clients: it}, nil)
}

func showNewClient(w http.ResponseWriter, a *web.Asked) error {
	return show(w, a, a.Voice.T("commissions.client.new"), page{Tab: "clients", Client: &clientPage{Path: "/clients/new", Form: sheetOf("commissions.client", url.Values{}, "")}}, nil)
}

func addClient(w http.ResponseWriter, a *web.Asked) error {
	r, err := a.Kit.Suite.Clients.AddClient(a.Context(), &intakev1.AddClientRequest{RequestId: a.RequestID(), Details: detailsOf(a)})
	if web.Refusal(err) {
		return show(w, a, a.Voice.T("commissions.client.new"), page{Tab: "clients", Client: &clientPage{Path: "/clients/new", Form: &sheet{Values: a.PostForm, Key: "commissions.client"}}}, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, clientAddress(r.Client.Name), "commissions.client.added")
}

func showClient(w http.ResponseWriter, a *web.Asked) error {
	it, err := loadClient(a)
	if err != nil {
		return err
	}
	it.Form = sheetOf("commissions.client", clientValues(it.Client), it.Etag)
	return it.show(w, a, nil)
}

func (c *clientPage) show(w http.ResponseWriter, a *web.Asked, refused error) error {
	return show(w, a, a.Voice.T("commissions.client.title", c.Number, c.GetDetails().GetDisplayName()), page{Tab: "clients", Client: c}, refused)
}

// loadClient reads a client with what they brought and ordered.
func loadClient(a *web.Asked) (*clientPage, error) {
	name := "clients/" + a.PathValue("id")
	it := &clientPage{Path: clientAddress(name)}
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() error {
		r, err := a.Kit.Suite.Clients.GetClient(ctx, &intakev1.GetClientRequest{Name: name})
		it.Client = r.GetClient()
		return err
	})
	reading.Go(func() error {
		all, err := clients.All(ctx, func(ctx context.Context, token string) ([]*intakev1.CommissionOrder, string, error) {
			r, err := a.Kit.Suite.Commissions.ListCommissions(ctx, &intakev1.ListCommissionsRequest{Client: name, PageSize: 200, PageToken: token})
			return r.GetCommissions(), r.GetNextPageToken(), err
		})
		it.Commissions = linesOfOrders(a.Voice, all)
		return err
	})
	reading.Go(func() (err error) {
		it.Pieces, err = clients.All(ctx, func(ctx context.Context, token string) ([]*intakev1.Piece, string, error) {
			r, err := a.Kit.Suite.Intake.ListPieces(ctx, &intakev1.ListPiecesRequest{Client: name, PageSize: 1000, PageToken: token})
			return r.GetPieces(), r.GetNextPageToken(), err
		})
		return err
	})
	return it, reading.Wait()
}

func changeClient(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.Clients.ChangeClient(a.Context(), &intakev1.ChangeClientRequest{RequestId: a.RequestID(), Client: "clients/" + a.PathValue("id"), Details: detailsOf(a), Etag: a.Typed("etag")})
	if web.Refusal(err) {
		return clientRefused(w, a, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/clients/"+a.PathValue("id"), "commissions.client.changed")
}

func clientRefused(w http.ResponseWriter, a *web.Asked, refused error) error {
	it, err := loadClient(a)
	if err != nil {
		return err
	}
	it.Form, refused = refusedSheet(a, "commissions.client", clientFields, clientValues(it.Client), it.Etag, refused)
	return it.show(w, a, refused)
}

func retireClient(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.Clients.RetireClient(a.Context(), &intakev1.RetireClientRequest{RequestId: a.RequestID(), Client: "clients/" + a.PathValue("id"), Etag: a.Typed("etag")})
	if web.Refusal(err) {
		it, missing := loadClient(a)
		if missing != nil {
			return missing
		}
		it.Form = sheetOf("commissions.client", clientValues(it.Client), it.Etag)
		return it.show(w, a, movedOn(a, err))
	}
	if err != nil {
		return err
	}
	return a.After(w, "/clients", "commissions.client.retired")
}
