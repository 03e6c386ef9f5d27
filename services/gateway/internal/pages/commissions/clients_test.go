package commissions

import (
	"net/http"
	"net/url"
	"slices"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pagetest"
)

func TestClients(t *testing.T) {
	s := counter()
	v := serve(t, s)
	status, body := v.Get("/clients?find=+mill+&all=1")
	pagetest.Want(t, "who is found", status, http.StatusOK, body, []string{"Ana &lt;b&gt;Ruiz", "555 0101", `href="/clients/c1"`, `href="/commissions/new?client=c1"`, `href="/clients?all=1&amp;find=&#43;mill&#43;&amp;page=more"`, `value="mill"`}, never)
	if r := s.asked.(*intakev1.ListClientsRequest); r.Search != "mill" || !r.ShowRetired {
		t.Errorf("searched %v", r)
	}
	status, body = v.Get("/clients/c1")
	pagetest.Want(t, "one", status, http.StatusOK, body, []string{"Client 7: Ana &lt;b&gt;Ruiz", `href="tel:555%200101"`, `href="mailto:ana@example.org"`, "Commission 12", `href="/pieces/41"`, "Elm &lt;hall&gt; bench", `value="Barton"`, `href="/pieces/new?client=c1"`, `aria-label="Line of the address, 1"`}, never)
	if r := s.asked.(*intakev1.ListPiecesRequest); r.Client != "clients/c1" {
		t.Errorf("the pieces of %v", r)
	}
	form := url.Values{"display_name": {"Ana Lund"}, "phone": {"555"}, "email": {"a@b"}, "address": {"4 Mill Lane", "", " Barton "}, "exempt": {"church"}, "certificate": {"E-7"}, "etag": {`"2"`}, "was": {clientValues(s.client).Encode()}}
	want := &intakev1.ClientDetails{DisplayName: "Ana Lund", Phone: "555", Email: "a@b", Address: []string{"4 Mill Lane", "Barton"}, TaxExemption: &intakev1.TaxExemption{Reason: "church", Number: "E-7"}}
	status, to := v.Send("/clients/c1", form)
	pagetest.Want(t, "changed", status, http.StatusSeeOther, to, []string{"/clients/c1"}, nil)
	if r := last[*intakev1.ChangeClientRequest](t, s); !proto.Equal(r.Details, want) || r.Etag != `"2"` || r.Client != "clients/c1" {
		t.Errorf("changed by %v", r)
	}
	status, to = v.Send("/clients/new", form)
	pagetest.Want(t, "added", status, http.StatusSeeOther, to, []string{"/clients/c1"}, nil)
	if r := last[*intakev1.AddClientRequest](t, s); !proto.Equal(r.Details, want) {
		t.Errorf("added by %v", r)
	}
	v.Send("/clients/c1/retire", url.Values{"etag": {`"2"`}})
	if r := last[*intakev1.RetireClientRequest](t, s); r.Etag != `"2"` {
		t.Errorf("retired by %v", r)
	}
	s.fails = fault.New(fault.Invalid, "INVALID_FIELD", "The email must have one @.")
	status, body = v.Send("/clients/new", form)
	pagetest.Want(t, "refused", status, http.StatusBadRequest, body, []string{"The email must have one @.", `value="Ana Lund"`, `value="E-7"`}, never)
}

// Two people change a client: both are shown, and the form has what each changed.
func TestClient_ChangedMeanwhile(t *testing.T) {
	s := counter()
	s.fails = fault.New(fault.Conflict, "ETAG_MISMATCH", "It moved on.")
	was := clientValues(s.client).Encode()
	s.client.Details.Phone, s.client.Etag = "555 0199", `"3"`
	status, body := serve(t, s).Send("/clients/c1", url.Values{"display_name": {"Ana Lund"}, "phone": {"555 0101"}, "email": {"ana@example.org"}, "address": {"4 Mill Lane", "Barton", "", ""}, "etag": {`"2"`}, "was": {was}})
	pagetest.Want(t, "both", status, http.StatusConflict, body, []string{"What changed meanwhile", `value="Ana Lund"`, `value="555 0199"`, `value="&#34;3&#34;"`, `value="Barton"`}, append(slices.Clone(never[1:]), `value="555 0101"`))
}

func TestTerms(t *testing.T) {
	s := counter()
	v := serve(t, s)
	status, body := v.Get("/commissions/terms")
	pagetest.Want(t, "the form", status, http.StatusOK, body, []string{`value="65"`, `value="8.875"`, `value="work" checked`, `value="&#34;3&#34;"`}, never)
	status, to := v.Send("/commissions/terms", url.Values{"rate": {"70,50"}, "markup": {"40 %"}, "tax": {"8.875"}, "deposit": {"30"}, "valid": {"14"}, "rule": {"percent"}, "percent": {"20"}, "untaxed": {"1"}, "etag": {`"3"`}})
	pagetest.Want(t, "kept", status, http.StatusSeeOther, to, []string{"/commissions/terms"}, nil)
	want := &intakev1.CommissionTerms{Rate: usd(70_50), MarkupPercent: "40", TaxPercent: "8.875", DepositPercent: "30", ValidDays: 14, CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT, CancelPercent: "20", LabourUntaxed: true}
	if r := last[*intakev1.SetCommissionTermsRequest](t, s); !proto.Equal(r.Terms, want) || r.Etag != `"3"` {
		t.Errorf("kept %v", r)
	}
	s.commands = nil
	status, body = v.Send("/commissions/terms", url.Values{"rate": {"much"}})
	pagetest.Want(t, "unreadable", status, http.StatusBadRequest, body, []string{"much"}, nil)
	s.fails = fault.New(fault.Conflict, "ETAG_MISMATCH", "It moved on.")
	was := termValues(pagetestVoice(), &intakev1.CommissionTerms{Rate: usd(60_00), ValidDays: 30}).Encode()
	status, body = v.Send("/commissions/terms", url.Values{"rate": {"60"}, "valid": {"14"}, "rule": {"work"}, "was": {was}, "etag": {`"2"`}})
	pagetest.Want(t, "both", status, http.StatusConflict, body, []string{"What changed meanwhile", `value="65"`, `value="14"`}, []string{"[commissions"})
}

func TestLetterhead(t *testing.T) {
	s := counter()
	v := serve(t, s)
	status, body := v.Get("/letterhead")
	pagetest.Want(t, "the form", status, http.StatusOK, body, []string{`value="Reedmere Refinishing"`, `value="14 Mill Lane"`, `value="a4" required checked`}, never)
	status, to := v.Send("/letterhead", url.Values{"shop_name": {"Reedmere"}, "address": {"1 Quay", "", "Barton"}, "phone": {"555"}, "email": {"a@b"}, "web": {"b.example"}, "tax_number": {"VAT 1"}, "closing": {"Thank you."}, "paper": {"letter"}, "etag": {`"1"`}})
	pagetest.Want(t, "kept", status, http.StatusSeeOther, to, []string{"/letterhead"}, nil)
	want := &intakev1.Letterhead{ShopName: "Reedmere", Address: []string{"1 Quay", "Barton"}, Phone: "555", Email: "a@b", Web: "b.example", TaxNumber: "VAT 1", Closing: "Thank you.", Paper: intakev1.Letterhead_PAPER_LETTER}
	if r := last[*intakev1.SetLetterheadRequest](t, s); !proto.Equal(r.Letterhead, want) || r.Etag != `"1"` {
		t.Errorf("kept %v", r)
	}
	s.fails = fault.New(fault.Invalid, "LETTERHEAD_WITHOUT_PAPER", "Say which paper.")
	status, body = v.Send("/letterhead", url.Values{"shop_name": {"Reedmere"}, "address": {"1 Quay"}})
	pagetest.Want(t, "refused", status, http.StatusBadRequest, body, []string{"Say which paper.", `value="1 Quay"`}, never)
}

// Helpers see none of it; leads see all of it, and change neither terms nor letterhead.
func TestPages_WhoseTheyAre(t *testing.T) {
	s := counter()
	s.role = typev1.Role_ROLE_HELPER
	v := serve(t, s)
	for _, path := range []string{"/commissions", "/commissions/o1", "/commissions/o1/estimate.pdf", "/commissions/terms", "/clients", "/clients/c1", "/letterhead"} {
		status, body := v.Get(path)
		pagetest.Want(t, path, status, http.StatusForbidden, body, nil, []string{"Ana", "600.00", "Reedmere"})
	}
	s.role = typev1.Role_ROLE_LEAD
	v = serve(t, s)
	for _, path := range []string{"/commissions/terms", "/letterhead"} {
		status, body := v.Get(path)
		pagetest.Want(t, path, status, http.StatusOK, body, []string{"The owner changes this.", "disabled"}, nil)
		if status, _ := v.Send(path, url.Values{"rate": {"1"}}); status != http.StatusForbidden || len(s.commands) > 0 {
			t.Errorf("a lead changes %s: %d, %v", path, status, s.commands)
		}
	}
}

// In Spanish nothing is left in English.
func TestPages_Spanish(t *testing.T) {
	s := counter().approved()
	v := serve(t, s)
	v.Language = "es"
	for path, says := range map[string]string{"/commissions": "Necesita a alguien", "/commissions/o1": "Presupuesto, versión 2", "/commissions/o1/change": "Lo que se encontró", "/commissions/o1/cancel": "Se debe", "/clients": "Añadir un cliente", "/clients/c1": "Sus piezas", "/commissions/terms": "Una hora de trabajo", "/letterhead": "Membrete"} {
		status, body := v.Get(path)
		pagetest.Want(t, path, status, http.StatusOK, body, []string{says}, append(slices.Clone(never), "Commission 1", "Letterhead", "Estimate,", "not taxed"))
	}
}
