package server_test

import (
	"bytes"
	"context"
	"log/slog"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/svctest"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/workflowsvc"
)

const (
	ownersWords = "linseed and turpentine"
	nellsPin    = "4827"
)

// door is a workflow service into which people sign in, from elsewhere and from its own machine.
type door struct {
	*svctest.Service
	here, signin workflowv1.SignInServiceClient // on its own machine, and elsewhere
	people       workflowv1.PeopleServiceClient // elsewhere
	log          *logged

	mu  sync.Mutex
	now time.Time
}

// logged is a log that may be read while it is written.
type logged struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *logged) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *logged) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func (d *door) clock() time.Time {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.now
}

func (d *door) later(by time.Duration) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.now = d.now.Add(by)
}

func setupDoor(t *testing.T) *door {
	t.Helper()
	d := &door{now: morning, log: &logged{}}
	peers := svctest.Fake(t, func(r grpc.ServiceRegistrar) {})
	d.Service = svctest.Start(t, workflowsvc.Name, workflowsvc.Run, svctest.Options{SignIn: true, Now: d.clock,
		Logger: slog.New(slog.NewTextHandler(d.log, &slog.HandlerOptions{Level: slog.LevelDebug})),
		Peers:  map[string]grpc.ClientConnInterface{"intake": peers, "materials": peers}})
	d.here, d.signin = workflowv1.NewSignInServiceClient(d.Conn), workflowv1.NewSignInServiceClient(d.Edge)
	d.people = workflowv1.NewPeopleServiceClient(d.Edge)
	return d
}

// as is the context of somebody who has been let in.
func as(t *testing.T, a *workflowv1.Admission) context.Context {
	return caller.With(t.Context(), caller.Caller{Token: a.AccessToken})
}

// claimed has the shop claimed by Odile.
func (d *door) claimed(t *testing.T) *workflowv1.Admission {
	t.Helper()
	key, err := d.here.RenewClaimKey(svctest.Ctx(t), &workflowv1.RenewClaimKeyRequest{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := d.signin.ClaimShop(t.Context(), &workflowv1.ClaimShopRequest{Key: key.Key, DisplayName: "Odile", Passphrase: ownersWords, Device: "office computer"})
	if err != nil {
		t.Fatal(err)
	}
	return r.Admission
}

// hire takes somebody in, who is a helper.
func (d *door) hire(t *testing.T, owner *workflowv1.Admission, name string) string {
	t.Helper()
	r, err := d.people.AddPerson(as(t, owner), &workflowv1.AddPersonRequest{RequestId: svctest.NewID(), DisplayName: name})
	if err != nil {
		t.Fatal(err)
	}
	return r.Person.Name
}

// nell is a helper with a PIN.
func (d *door) nell(t *testing.T, owner *workflowv1.Admission) string {
	t.Helper()
	person := d.hire(t, owner, "Nell")
	if _, err := d.signin.SetPin(as(t, owner), &workflowv1.SetPinRequest{Person: person, Pin: nellsPin}); err != nil {
		t.Fatal(err)
	}
	return person
}

// lead is Joss, a lead with a passphrase, signed in.
func (d *door) lead(t *testing.T, owner *workflowv1.Admission) *workflowv1.Admission {
	t.Helper()
	person := d.hire(t, owner, "Joss")
	d.become(t, owner, person, typev1.Role_ROLE_LEAD)
	if _, err := d.signin.SetPassphrase(as(t, owner), &workflowv1.SetPassphraseRequest{Person: person, Passphrase: "boiled linseed oil"}); err != nil {
		t.Fatal(err)
	}
	return d.in(t, "Joss", "boiled linseed oil")
}

func (d *door) become(t *testing.T, owner *workflowv1.Admission, person string, role typev1.Role) {
	t.Helper()
	if _, err := d.signin.SetRole(as(t, owner), &workflowv1.SetRoleRequest{RequestId: svctest.NewID(), Person: person, Role: role}); err != nil {
		t.Fatal(err)
	}
}

func (d *door) signIn(t *testing.T, name, secret string) (*workflowv1.Admission, error) {
	r, err := d.signin.SignIn(t.Context(), &workflowv1.SignInRequest{DisplayName: name, Secret: secret, Device: "phone"})
	return r.GetAdmission(), err
}

// in signs somebody in.
func (d *door) in(t *testing.T, name, secret string) *workflowv1.Admission {
	t.Helper()
	a, err := d.signIn(t, name, secret)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func (d *door) renew(t *testing.T, secret string) (*workflowv1.Admission, error) {
	r, err := d.signin.RenewAccess(t.Context(), &workflowv1.RenewAccessRequest{Secret: secret})
	return r.GetAdmission(), err
}

func (d *door) inDays(n int) *timestamppb.Timestamp {
	return timestamppb.New(d.clock().AddDate(0, 0, n))
}
