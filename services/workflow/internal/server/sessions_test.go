package server_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// everything is all that the service keeps, as text.
func everything(t *testing.T, d *door) string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), d.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(t.Context()))
	var all strings.Builder
	for _, table := range []string{"person", "sign_in", "sign_in_attempt", "session", "claim_key", "request", "event"} {
		rows, err := conn.Query(t.Context(), `SELECT to_jsonb(x)::text || encode(convert_to(x::text, 'UTF8'), 'escape') FROM workflow.`+table+` x`)
		if err != nil {
			t.Fatal(err)
		}
		texts, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil {
			t.Fatalf("%s: %v", table, err)
		}
		all.WriteString(strings.Join(texts, "\n"))
	}
	return all.String()
}

// Each sees and ends their own sessions, owners anybody's.
func TestServer_Sessions(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	person := d.nell(t, owner)
	phone, tablet := d.in(t, "Nell", nellsPin), d.in(t, "Nell", nellsPin)
	list := func(by *workflowv1.Admission, who string) (names []string, err error) {
		r, err := d.signin.ListSessions(as(t, by), &workflowv1.ListSessionsRequest{Person: who})
		for _, s := range r.GetSessions() {
			names = append(names, s.PersonName+" on "+s.Device)
		}
		return names, err
	}
	if names, err := list(phone, ""); err != nil || strings.Join(names, ", ") != "Nell on phone, Nell on phone" {
		t.Errorf("Nell sees %v, %v", names, err)
	}
	if names, err := list(owner, ""); err != nil || strings.Join(names, ", ") != "Nell on phone, Nell on phone, Odile on office computer" {
		t.Errorf("the owner sees %v, %v", names, err)
	}
	if _, err := list(phone, owner.Person); !fault.Is(err, "NOT_YOURS") {
		t.Errorf("Nell looks at the owner's: %v", err)
	}
	end := func(by *workflowv1.Admission, session string) error {
		_, err := d.signin.EndSession(as(t, by), &workflowv1.EndSessionRequest{RequestId: svctest.NewID(), Session: session})
		return err
	}
	if err := end(phone, owner.Session); !fault.Is(err, "NOT_YOURS") {
		t.Errorf("Nell ends the owner's: %v", err)
	}
	if err := end(phone, tablet.Session); err != nil {
		t.Errorf("Nell ends her own: %v", err)
	}
	if err := end(phone, tablet.Session); !fault.Is(err, "SESSION_NOT_FOUND") {
		t.Errorf("and again: %v", err)
	}
	if _, err := d.renew(t, tablet.SessionSecret); !fault.Is(err, "SESSION_ENDED") {
		t.Errorf("the one that was ended: %v", err)
	}
	if err := end(owner, phone.Session); err != nil {
		t.Errorf("the owner ends Nell's: %v", err)
	}
	if names, err := list(owner, person); err != nil || len(names) != 0 {
		t.Errorf("Nell has %v, %v", names, err)
	}
}

// A program is let in with what an owner gave it, and no more, until its time is over or it is revoked.
func TestServer_Tokens(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	d.nell(t, owner)
	made := func(change func(*workflowv1.CreateTokenRequest)) (*workflowv1.CreateTokenResponse, error) {
		r := &workflowv1.CreateTokenRequest{Label: "Shop window", Role: typev1.Role_ROLE_LEAD, ReadOnly: true, Methods: []string{"tackfree.workflow.v1.PeopleService"}, ExpireTime: d.inDays(2)}
		if change != nil {
			change(r)
		}
		return d.signin.CreateToken(as(t, owner), r)
	}
	for reason, change := range map[string]func(*workflowv1.CreateTokenRequest){
		"TIME_IN_PAST":      func(r *workflowv1.CreateTokenRequest) { r.ExpireTime = d.inDays(0) },
		"TIME_TOO_FAR":      func(r *workflowv1.CreateTokenRequest) { r.ExpireTime = d.inDays(6 * 366) },
		"TOKEN_LABEL_TAKEN": func(r *workflowv1.CreateTokenRequest) { r.Label = "nell" },
		"INVALID_FIELD":     func(r *workflowv1.CreateTokenRequest) { r.Methods = []string{"everything"} },
	} {
		if _, err := made(change); !fault.Is(err, reason) {
			t.Errorf("want %s, got %v", reason, err)
		}
	}
	window, err := made(nil)
	if err != nil || !strings.HasPrefix(window.Secret, "tackfree_") || window.Token.Actor != "Odile" {
		t.Fatalf("made = %v, %v", window, err)
	}
	if _, err := made(nil); !fault.Is(err, "TOKEN_LABEL_TAKEN") {
		t.Errorf("the same label: %v", err)
	}
	in, err := d.renew(t, window.Secret)
	if err != nil || in.Person != "" || in.DisplayName != "Shop window" || in.Session != window.Token.Name || !in.ReadOnly || in.Role != typev1.Role_ROLE_LEAD {
		t.Fatalf("let in = %v, %v", in, err)
	}
	if _, err := d.people.ListPeople(as(t, in), &workflowv1.ListPeopleRequest{}); err != nil {
		t.Errorf("it reads: %v", err)
	}
	if _, err := d.people.AddPerson(as(t, in), &workflowv1.AddPersonRequest{}); !fault.Is(err, "ROLE_TOO_LOW") {
		t.Errorf("it hires: %v", err)
	}
	if _, err := workflowv1.NewRouteServiceClient(d.Edge).SaveRoute(as(t, in), &workflowv1.SaveRouteRequest{}); !fault.Is(err, "READ_ONLY") {
		t.Errorf("it saves a route: %v", err)
	}
	if _, err := workflowv1.NewRouteServiceClient(d.Edge).ListRoutes(as(t, in), &workflowv1.ListRoutesRequest{}); !fault.Is(err, "METHOD_NOT_ALLOWED") {
		t.Errorf("it reads something else: %v", err)
	}
	list, err := d.signin.ListTokens(as(t, owner), &workflowv1.ListTokensRequest{})
	if err != nil || len(list.Tokens) != 1 || list.Tokens[0].Label != "Shop window" || list.Tokens[0].UseTime == nil {
		t.Errorf("tokens = %v, %v", list, err)
	}
	revoke := func(token string) error {
		_, err := d.signin.RevokeToken(as(t, owner), &workflowv1.RevokeTokenRequest{RequestId: svctest.NewID(), Token: token})
		return err
	}
	if err := revoke(id.Name("tokens", id.New())); !fault.Is(err, "TOKEN_NOT_FOUND") {
		t.Errorf("another is revoked: %v", err)
	}
	if err := revoke(window.Token.Name); err != nil {
		t.Errorf("revoked: %v", err)
	}
	if _, err := d.renew(t, window.Secret); !fault.Is(err, "SESSION_ENDED") {
		t.Errorf("after it was revoked: %v", err)
	}
	if _, err := made(nil); err != nil {
		t.Errorf("its label, given again: %v", err)
	}
}

// A program's access ends with its time, to the second, however fresh it is.
func TestServer_Tokens_End(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	made, err := d.signin.CreateToken(as(t, owner), &workflowv1.CreateTokenRequest{Label: "till", Role: typev1.Role_ROLE_HELPER, ExpireTime: d.inDays(1)})
	if err != nil {
		t.Fatal(err)
	}
	d.later(24*time.Hour - time.Minute)
	in, err := d.renew(t, made.Secret)
	if err != nil || !in.AccessExpireTime.AsTime().Equal(made.Token.ExpireTime.AsTime()) {
		t.Errorf("a minute before: %v, %v", in, err)
	}
	d.later(time.Minute)
	if _, err := d.renew(t, made.Secret); !fault.Is(err, "SESSION_ENDED") {
		t.Errorf("at its end: %v", err)
	}
}
