package e2e_test

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/access"
	"tackfree/pkg/caller"
	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/cli"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/suite"
)

// served is a shop that is reached over TCP too.
type served struct {
	*suite.Suite
	dir string
	tcp *client.Shop // over TCP
	mu  sync.Mutex
	at  map[string]string // each service's address
	log *quietLog
}

// quietLog is a log that may be read while it is written.
type quietLog struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *quietLog) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *quietLog) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// heard notes where services say that they serve.
func (s *served) heard(said string) {
	name, address, ok := strings.Cut(said, "serves on ")
	if !ok {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.at[strings.TrimSpace(name)] = address
}

func openServed(t *testing.T, change ...func(*suite.Options)) *served {
	t.Helper()
	s := &served{at: map[string]string{}, log: &quietLog{}}
	s.Suite = open(t, func(o *suite.Options) {
		o.Listen, o.Progress, s.dir = "127.0.0.1:0", s.heard, o.Dir
		o.Logger = slog.New(slog.NewTextHandler(s.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
		for _, c := range change {
			c(o)
		}
	})
	var err error
	if s.tcp, err = client.Dial(s.at); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.tcp.Close() })
	return s
}

// bring is the context of calls that bring an access token.
func bring(t *testing.T, a *workflowv1.Admission) context.Context {
	return caller.With(t.Context(), caller.Caller{Token: a.AccessToken})
}

// claimed has the shop claimed by Odile.
func (s *served) claimed(t *testing.T) *workflowv1.Admission {
	t.Helper()
	key, err := s.ClaimKey(t.Context())
	if err != nil || key == "" {
		t.Fatalf("key %q, %v", key, err)
	}
	claimed, err := s.tcp.SignIn.ClaimShop(t.Context(), &workflowv1.ClaimShopRequest{Key: key, DisplayName: "Odile", Passphrase: "linseed and turpentine"})
	if err != nil {
		t.Fatal(err)
	}
	return claimed.Admission
}

// signedIn gives somebody of the shop a PIN, with which they sign in.
func (s *served) signedIn(t *testing.T, owner *workflowv1.Admission, name string) *workflowv1.Admission {
	t.Helper()
	people, err := s.tcp.People.ListPeople(bring(t, owner), &workflowv1.ListPeopleRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range people.People {
		if p.DisplayName == name {
			if _, err := s.tcp.SignIn.SetPin(bring(t, owner), &workflowv1.SetPinRequest{Person: p.Name, Pin: "4827"}); err != nil {
				t.Fatal(err)
			}
		}
	}
	in, err := s.tcp.SignIn.SignIn(t.Context(), &workflowv1.SignInRequest{DisplayName: name, Secret: "4827", Device: "phone"})
	if err != nil {
		t.Fatal(err)
	}
	return in.Admission
}

// staffed has the shop claimed by Odile, and Nell and Joss in it as helpers; Nell has signed in with her PIN.
func (s *served) staffed(t *testing.T) (owner, nell *workflowv1.Admission, joss string) {
	t.Helper()
	owner = s.claimed(t)
	for _, name := range []string{"Nell", "Joss"} {
		r, err := s.tcp.People.AddPerson(bring(t, owner), &workflowv1.AddPersonRequest{RequestId: id.New().String(), DisplayName: name})
		if err != nil {
			t.Fatal(err)
		}
		joss = r.Person.Name
	}
	return owner, s.signedIn(t, owner, "Nell"), joss
}

// Over the network nobody does anything before they have signed in; a helper does their own work and sees no pay,
// whichever way they come; on the shop's own machine all goes on as before.
func TestAccess_OverTheNetwork(t *testing.T) {
	s := openServed(t)
	for name, call := range map[string]func(context.Context) error{
		"intake":    func(ctx context.Context) error { _, err := s.tcp.AllPieces(ctx); return err },
		"workflow":  func(ctx context.Context) error { _, err := s.tcp.AllPeople(ctx); return err },
		"materials": func(ctx context.Context) error { _, err := s.tcp.AllProducts(ctx); return err },
		"costing": func(ctx context.Context) error {
			_, err := s.tcp.Rates.ListPayRates(ctx, &costingv1.ListPayRatesRequest{})
			return err
		},
	} {
		if err := call(caller.With(t.Context(), caller.Caller{Actor: "Odile"})); !fault.Is(err, "SIGN_IN_NEEDED") || !errors.Is(err, fault.Unauthenticated) {
			t.Errorf("%s answers nobody in particular: %v", name, err)
		}
	}
	_, nell, joss := s.staffed(t)
	over := map[string]*clients.Suite{"TCP": s.tcp.Suite}
	edge, err := clients.Use(s.Edge)
	if err != nil {
		t.Fatal(err)
	}
	over["the edge"] = edge
	for name, shop := range over {
		clockOn := func(person string) error {
			_, err := shop.Clocks.ClockOn(bring(t, nell), &workflowv1.ClockOnRequest{RequestId: id.New().String(), Person: person, Indirect: "cleaning"})
			return err
		}
		if err := clockOn(joss); !fault.Is(err, "NOT_YOURS") || !errors.Is(err, fault.Denied) {
			t.Errorf("%s: Nell clocks Joss on: %v", name, err)
		}
		if err := clockOn(nell.Person); err != nil && !fault.Is(err, "CLOCK_OPEN") {
			t.Errorf("%s: Nell clocks herself on: %v", name, err)
		}
		if _, err := shop.Rates.ListPayRates(bring(t, nell), &costingv1.ListPayRatesRequest{}); !fault.Is(err, "ROLE_TOO_LOW") {
			t.Errorf("%s: Nell sees pay: %v", name, err)
		}
		if _, err := shop.People.ListPeople(t.Context(), &workflowv1.ListPeopleRequest{}); !fault.Is(err, "SIGN_IN_NEEDED") {
			t.Errorf("%s: nobody sees who works here: %v", name, err)
		}
	}
	if _, err := s.Shop.AllPeople(t.Context()); err != nil {
		t.Errorf("on its own machine: %v", err)
	}
	for _, secret := range []string{"4827", "linseed", nell.SessionSecret, nell.AccessToken} {
		if strings.Contains(s.log.String(), secret) {
			t.Errorf("the log has %q", secret)
		}
	}
}

// A program reads what it was let in for, at the command line too, and no more.
func TestAccess_Program(t *testing.T) {
	s := openServed(t)
	owner, _, _ := s.staffed(t)
	made, err := s.tcp.SignIn.CreateToken(bring(t, owner), &workflowv1.CreateTokenRequest{Label: "Shop window", Role: typev1.Role_ROLE_OWNER, ReadOnly: true,
		ExpireTime: timestamppb.New(time.Now().Add(time.Hour))})
	if err != nil {
		t.Fatal(err)
	}
	shop := func(args ...string) (int, string) {
		var out, errs bytes.Buffer
		for name, address := range s.at {
			args = append(args, "--"+name+"-addr="+address)
		}
		code := cli.Run(t.Context(), append(args, "--token", made.Secret), &out, &errs)
		return code, out.String() + errs.String()
	}
	if code, said := shop("person", "list"); code != 0 || !strings.Contains(said, "Nell") {
		t.Errorf("it lists people: %d, %s", code, said)
	}
	if code, said := shop("cost", "rates"); code != 0 {
		t.Errorf("it lists rates: %d, %s", code, said)
	}
	if code, said := shop("person", "add", "Mallory"); code != 1 || !strings.Contains(said, "READ_ONLY") {
		t.Errorf("it hires: %d, %s", code, said)
	}
	if _, err := s.tcp.SignIn.RevokeToken(bring(t, owner), &workflowv1.RevokeTokenRequest{RequestId: id.New().String(), Token: made.Token.Name}); err != nil {
		t.Fatal(err)
	}
	if code, said := shop("person", "list"); code != 1 || !strings.Contains(said, "SESSION_ENDED") {
		t.Errorf("after it was revoked: %d, %s", code, said)
	}
}

// A key is made with the shop and kept, so that who has signed in stays so when it is opened again.
func TestAccess_KeyIsKept(t *testing.T) {
	s := openServed(t)
	_, nell, _ := s.staffed(t)
	s.StopService("workflow")
	if err := s.Restart(t.Context(), "workflow"); err != nil {
		t.Fatal(err)
	}
	edge, err := clients.Use(s.Edge)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := edge.People.ListPeople(bring(t, nell), &workflowv1.ListPeopleRequest{}); err != nil {
		t.Errorf("Nell, after the service began again: %v", err)
	}
	info, err := os.Stat(filepath.Join(s.dir, "keys", "access.key"))
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the key: %v, %v", info, err)
	}
	if key, err := s.ClaimKey(t.Context()); err != nil || key != "" {
		t.Errorf("a shop with an owner can be claimed: %q, %v", key, err)
	}
}

// Services that run by themselves and share a key let each other in, and nobody without it.
func TestAccess_BetweenProcesses(t *testing.T) {
	key := filepath.Join(t.TempDir(), "access.key")
	if _, err := access.LoadOrCreate(key); err != nil {
		t.Fatal(err)
	}
	f := newFleet(t, "TACKFREE_ACCESS_KEY_FILE="+key)
	if _, err := f.shop.AllPeople(t.Context()); !fault.Is(err, "SIGN_IN_NEEDED") {
		t.Errorf("without a token: %v", err)
	}
	holder, err := client.DialWithKey(f.targets, key)
	if err != nil {
		t.Fatal(err)
	}
	defer holder.Close()
	play(t, holder, func(int, int) {})
	verified(t, holder)
	if s, err := holder.SignIn.RenewClaimKey(t.Context(), &workflowv1.RenewClaimKeyRequest{}); err != nil || s.Key == "" {
		t.Errorf("who has the key makes a claim key: %v, %v", s, err)
	}
}
