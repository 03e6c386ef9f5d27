package server_test

import (
	"context"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// A client is kept whole, and the log, which is kept for ever, says only what they are called.
func TestServer_AddClient(t *testing.T) {
	b := setup(t)
	r := ana()
	r.Details.TaxExemption = &intakev1.TaxExemption{Reason: "church", Number: "E-7"}
	got := b.client(t, r)
	want := &intakev1.Client{Name: got.Name, Number: 1, Details: r.Details, AddTime: got.AddTime, Etag: `"1"`}
	differ(t, "AddClient", want, got)
	read, err := b.GetClient(t.Context(), &intakev1.GetClientRequest{Name: got.Name})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "GetClient", want, read.Client)
	e := b.Last(t)
	differ(t, "event", &eventsv1.ClientSaved{Number: 1, TaxExempt: true}, e.GetClientSaved())
	if text := e.String(); e.AggregateKind != "client" || e.PieceId != "" || strings.Contains(text, "555") || strings.Contains(text, "Mill Lane") || strings.Contains(text, "E-7") {
		t.Errorf("the log says %s", text)
	}
	differ(t, "asked again", want, b.client(t, r))
}

func TestServer_ChangeAndRetireClient(t *testing.T) {
	b := setup(t)
	c := b.client(t, ana())
	change := &intakev1.ChangeClientRequest{RequestId: svctest.NewID(), Client: c.Name, Etag: c.Etag, Details: &intakev1.ClientDetails{DisplayName: "Ana Ruiz-Lund"}}
	got, err := b.ChangeClient(svctest.Ctx(t), change)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "ChangeClient", &intakev1.Client{Name: c.Name, Number: 1, Details: change.Details, AddTime: c.AddTime, Etag: `"2"`}, got.Client)
	stale := proto.CloneOf(change)
	stale.RequestId = svctest.NewID()
	svctest.Refused(t, b.Service, b.ChangeClient, stale, fault.Conflict, "ETAG_MISMATCH")
	retired, err := b.RetireClient(svctest.Ctx(t), &intakev1.RetireClientRequest{RequestId: svctest.NewID(), Client: c.Name})
	if err != nil || !retired.Client.Retired || b.Last(t).GetClientRetired().GetNumber() != 1 {
		t.Errorf("RetireClient = %v, %v", retired, err)
	}
	stale.Etag = ""
	svctest.Refused(t, b.Service, b.ChangeClient, stale, fault.Precondition, "CLIENT_RETIRED")
	svctest.Refused(t, b.Service, b.RetireClient, &intakev1.RetireClientRequest{RequestId: svctest.NewID(), Client: c.Name}, fault.Precondition, "CLIENT_RETIRED")
	f := svctest.Refused(t, b.Service, b.TakeInPiece, theirs(c), fault.Precondition, "CLIENT_RETIRED")
	if fields(f) != "commission.client_record" {
		t.Errorf("CLIENT_RETIRED is about %q", fields(f))
	}
	stale.Client = id.Name("clients", id.New())
	svctest.Refused(t, b.Service, b.ChangeClient, stale, fault.NotFound, "CLIENT_NOT_FOUND")
}

func TestServer_Client_Refuses(t *testing.T) {
	b := setup(t)
	for name, change := range map[string]func(*intakev1.AddClientRequest){
		"NoRequestID": func(r *intakev1.AddClientRequest) { r.RequestId = "" },
		"Nobody":      func(r *intakev1.AddClientRequest) { r.Details.DisplayName = " " },
		"NoEmail":     func(r *intakev1.AddClientRequest) { r.Details.Email = "ana at home" },
		"LongAddress": func(r *intakev1.AddClientRequest) { r.Details.Address = strings.Split(strings.Repeat("a", 9), "") },
		"NoReason":    func(r *intakev1.AddClientRequest) { r.Details.TaxExemption = &intakev1.TaxExemption{Number: "7"} },
	} {
		t.Run(name, func(t *testing.T) {
			r := ana()
			change(r)
			svctest.Refused(t, b.Service, b.AddClient, r, fault.Invalid, "INVALID_FIELD")
		})
	}
	f := svctest.Refused(t, b.Service, b.GetClient, &intakev1.GetClientRequest{Name: id.Name("clients", id.New())}, fault.NotFound, "CLIENT_NOT_FOUND")
	if fields(f) != "name" {
		t.Errorf("CLIENT_NOT_FOUND is about %q, want name", fields(f))
	}
}

func TestServer_ListClients(t *testing.T) {
	b := setup(t)
	for range 3 {
		b.client(t, ana())
	}
	second := &intakev1.ListClientsRequest{PageSize: 1}
	var numbers []int32
	for range 4 {
		r, err := b.ListClients(t.Context(), second)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range r.Clients {
			numbers = append(numbers, c.Number)
			if c.Number == 2 {
				if _, err := b.RetireClient(svctest.Ctx(t), &intakev1.RetireClientRequest{RequestId: svctest.NewID(), Client: c.Name}); err != nil {
					t.Fatal(err)
				}
			}
		}
		if second.PageToken = r.NextPageToken; second.PageToken == "" {
			break
		}
	}
	all, err := b.ListClients(t.Context(), &intakev1.ListClientsRequest{ShowRetired: true})
	some, someErr := b.ListClients(t.Context(), &intakev1.ListClientsRequest{})
	if len(numbers) != 3 || err != nil || someErr != nil || len(all.Clients) != 3 || len(some.Clients) != 2 || some.Clients[1].Number != 3 {
		t.Errorf("ListClients = %v, all %v, %v, some %v, %v", numbers, all, err, some, someErr)
	}
}

// Whose a piece is is kept on it, told of, and a piece of a name alone stays as it was.
func TestServer_TakeInPiece_OfAClient(t *testing.T) {
	b := setup(t)
	c := b.client(t, ana())
	got := b.take(t, theirs(c))
	differ(t, "the piece's commission", &intakev1.Commission{Client: "Ana Ruiz", ClientRecord: c.Name}, b.piece(t, got.Name).GetCommission())
	if in := b.Last(t).GetPieceTakenIn().GetCommission(); "clients/"+in.GetClientId() != c.Name {
		t.Errorf("the event says %v", in)
	}
	byName := theirs(c)
	byName.GetCommission().ClientRecord = ""
	if p := b.piece(t, b.take(t, byName).Name); p.GetCommission().ClientRecord != "" || p.GetCommission().Client != "Ana Ruiz" {
		t.Errorf("of a name alone = %v", p)
	}
	unknown := theirs(&intakev1.Client{Name: id.Name("clients", id.New()), Details: c.Details})
	svctest.Refused(t, b.Service, b.TakeInPiece, unknown, fault.NotFound, "CLIENT_NOT_FOUND")
}

// Helpers may ask nothing of clients and commissions; leads are told all but may not set the terms.
func TestServer_TellsClientsToLeads(t *testing.T) {
	b, order := ordered(t)
	clients, commissions := intakev1.NewClientServiceClient(b.Edge), intakev1.NewCommissionServiceClient(b.Edge)
	for name, ask := range map[string]func(context.Context) (proto.Message, error){
		"GetClient": func(ctx context.Context) (proto.Message, error) {
			return clients.GetClient(ctx, &intakev1.GetClientRequest{Name: order.Client})
		},
		"ListClients": func(ctx context.Context) (proto.Message, error) {
			return clients.ListClients(ctx, &intakev1.ListClientsRequest{})
		},
		"GetCommission": func(ctx context.Context) (proto.Message, error) {
			return commissions.GetCommission(ctx, &intakev1.GetCommissionRequest{Name: order.Name})
		},
		"ListCommissions": func(ctx context.Context) (proto.Message, error) {
			return commissions.ListCommissions(ctx, &intakev1.ListCommissionsRequest{})
		},
		"GetCommissionTerms": func(ctx context.Context) (proto.Message, error) {
			return commissions.GetCommissionTerms(ctx, &intakev1.GetCommissionTermsRequest{})
		},
	} {
		if _, err := ask(b.As(t, typev1.Role_ROLE_HELPER)); !fault.Is(err, "ROLE_TOO_LOW") {
			t.Errorf("%s as a helper = %v, want ROLE_TOO_LOW", name, err)
		}
		lead, err := ask(b.As(t, typev1.Role_ROLE_LEAD))
		owner, ownerErr := ask(b.As(t, typev1.Role_ROLE_OWNER))
		if err != nil || ownerErr != nil {
			t.Fatal(name, err, ownerErr)
		}
		differ(t, name+" as a lead", owner, lead)
	}
	_, err := commissions.SetCommissionTerms(b.As(t, typev1.Role_ROLE_LEAD), &intakev1.SetCommissionTermsRequest{RequestId: svctest.NewID(), Terms: &intakev1.CommissionTerms{}})
	if !fault.Is(err, "ROLE_TOO_LOW") {
		t.Errorf("SetCommissionTerms as a lead = %v", err)
	}
}

// Whoever searches finds by what they remember, page by page.
func TestServer_ListClients_Search(t *testing.T) {
	b := setup(t)
	for _, name := range []string{"Ana Núñez", "Bo Lund", "Nunes & Sons"} {
		r := ana()
		r.Details = &intakev1.ClientDetails{DisplayName: name}
		b.client(t, r)
	}
	var got []string
	r := &intakev1.ListClientsRequest{Search: " NUN ", PageSize: 1}
	for more := true; more; more = r.PageToken != "" {
		page, err := b.ListClients(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range page.Clients {
			got = append(got, c.Details.DisplayName)
		}
		r.PageToken = page.NextPageToken
	}
	if strings.Join(got, ", ") != "Ana Núñez, Nunes & Sons" {
		t.Errorf("found %q", got)
	}
}
