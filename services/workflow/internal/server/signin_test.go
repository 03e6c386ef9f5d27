package server_test

import (
	"context"
	"errors"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Who signs in is let in as what they are, for as long as their role says, and their calls are theirs.
func TestServer_SignIn(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	person := d.nell(t, owner)
	nell := d.in(t, " NELL ", nellsPin)
	if nell.Role != typev1.Role_ROLE_HELPER || nell.Person != person || nell.DisplayName != "Nell" || nell.ReadOnly || len(nell.SessionSecret) != 43 ||
		!nell.SessionExpireTime.AsTime().Equal(morning.Add(30*24*time.Hour)) || !nell.AccessExpireTime.AsTime().Equal(morning.Add(5*time.Minute)) {
		t.Errorf("Nell is let in as %v", nell)
	}
	if p, err := d.people.GetPerson(as(t, nell), &workflowv1.GetPersonRequest{Name: person}); err != nil || p.Person.Role != typev1.Role_ROLE_HELPER {
		t.Errorf("Nell looks at herself: %v, %v", p, err)
	}
	if _, err := d.people.AddPerson(as(t, nell), &workflowv1.AddPersonRequest{RequestId: svctest.NewID(), DisplayName: "Mo"}); !fault.Is(err, "ROLE_TOO_LOW") || !errors.Is(err, fault.Denied) {
		t.Errorf("Nell hires: %v", err)
	}
	d.hire(t, owner, "Priya")
	if e := d.Last(t); e.Actor != "Odile" {
		t.Errorf("hired by %q, want Odile, whose token it was", e.Actor)
	}
}

// A name that nobody has, one without a secret, and a wrong secret are refused alike.
func TestServer_SignIn_Wrong(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	d.nell(t, owner)
	d.hire(t, owner, "Priya")
	var texts []string
	for name, secret := range map[string]string{"Nell": "4826", "nell": "linseed and turpentine", "Nobody": nellsPin, "Priya": nellsPin, "Odile": nellsPin, "Odile ": "Linseed and turpentine"} {
		_, err := d.signIn(t, name, secret)
		if !fault.Is(err, "SIGN_IN_WRONG") || !errors.Is(err, fault.Unauthenticated) {
			t.Errorf("%s with %s: %v", name, secret, err)
			continue
		}
		texts = append(texts, fault.Of(err).Text)
	}
	for _, text := range texts {
		if text != texts[0] {
			t.Errorf("refused with %q and with %q", text, texts[0])
		}
	}
}

// The fifth wrong PIN in a row locks, for anybody who has that name and for nobody else; a lead lets a helper in
// again, or half a minute passes. A right one in between counts anew.
func TestServer_SignIn_Lock(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	person, joss := d.nell(t, owner), d.lead(t, owner)
	fail := func(name string, times int) {
		for range times {
			if _, err := d.signIn(t, name, "9999"); !fault.Is(err, "SIGN_IN_WRONG") {
				t.Errorf("a wrong PIN of %s: %v", name, err)
			}
		}
	}
	fail("Nell", 4)
	d.in(t, "Nell", nellsPin)
	for _, name := range []string{"Nell", "Nobody"} {
		fail(name, 5)
		if _, err := d.signIn(t, name, nellsPin); !fault.Is(err, "SIGN_IN_LOCKED") || fault.Of(err).Meta["locked_until"] == "" {
			t.Errorf("%s, after five wrong ones: %v", name, err)
		}
	}
	d.in(t, "Joss", "boiled linseed oil")
	unlock := func(by *workflowv1.Admission, who string) error {
		_, err := d.signin.UnlockSignIn(as(t, by), &workflowv1.UnlockSignInRequest{RequestId: svctest.NewID(), Person: who})
		return err
	}
	if err := unlock(joss, owner.Person); !fault.Is(err, "NOT_YOURS") {
		t.Errorf("a lead unlocks an owner: %v", err)
	}
	if err := unlock(joss, person); err != nil {
		t.Errorf("a lead unlocks a helper: %v", err)
	}
	if err := unlock(joss, person); !fault.Is(err, "NOT_LOCKED") {
		t.Errorf("and again: %v", err)
	}
	nell := d.in(t, "Nell", nellsPin)
	if err := unlock(nell, person); !fault.Is(err, "ROLE_TOO_LOW") {
		t.Errorf("a helper unlocks: %v", err)
	}
	fail("Nell", 5)
	d.later(29 * time.Second)
	if _, err := d.signIn(t, "Nell", nellsPin); !fault.Is(err, "SIGN_IN_LOCKED") {
		t.Errorf("after 29 seconds: %v", err)
	}
	d.later(time.Second)
	d.in(t, "Nell", nellsPin)
}

// Many who try at once cannot try more PINs than one after the other.
func TestServer_SignIn_Racing(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	d.nell(t, d.claimed(t))
	var wrong, locked, busy atomic.Int32
	var all sync.WaitGroup
	for range 40 {
		all.Go(func() {
			switch _, err := d.signIn(t, "Nell", "9999"); {
			case fault.Is(err, "SIGN_IN_WRONG"):
				wrong.Add(1)
			case fault.Is(err, "SIGN_IN_LOCKED"):
				locked.Add(1)
			case fault.Is(err, "TOO_MANY_SIGN_INS"):
				busy.Add(1)
			default:
				t.Errorf("a wrong PIN: %v", err)
			}
		})
	}
	all.Wait()
	if wrong.Load() != 5 || wrong.Load()+locked.Load()+busy.Load() != 40 {
		t.Errorf("%d were tried, %d were locked out, %d were too many; want 5 tried", wrong.Load(), locked.Load(), busy.Load())
	}
}

// Whoever left the shop cannot sign in, and their session gives no more access.
func TestServer_SignIn_Left(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	person := d.nell(t, owner)
	nell := d.in(t, "Nell", nellsPin)
	left := &workflowv1.Person{Name: person, ActiveTo: onDay(2026, 3, 1)}
	if _, err := d.people.UpdatePerson(as(t, owner), update(left, "active_to")); err != nil {
		t.Fatal(err)
	}
	if _, err := d.signIn(t, "Nell", nellsPin); !fault.Is(err, "PERSON_INACTIVE") {
		t.Errorf("Nell, who left, signs in: %v", err)
	}
	if _, err := d.signIn(t, "Nell", "9999"); !fault.Is(err, "SIGN_IN_WRONG") {
		t.Errorf("somebody who does not know her PIN learns: %v", err)
	}
	if _, err := d.renew(t, nell.SessionSecret); !fault.Is(err, "PERSON_INACTIVE") {
		t.Errorf("Nell, who left, renews: %v", err)
	}
}

// A session goes on while it is used, and its access ends within minutes after it is ended.
func TestServer_RenewAccess(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	d.nell(t, owner)
	nell := d.in(t, "Nell", nellsPin)
	look := func(a *workflowv1.Admission) error {
		_, err := d.people.ListPeople(as(t, a), &workflowv1.ListPeopleRequest{})
		return err
	}
	d.later(29 * 24 * time.Hour)
	if err := look(nell); !fault.Is(err, "ACCESS_EXPIRED") {
		t.Errorf("after a month with the first token: %v", err)
	}
	again, err := d.renew(t, nell.SessionSecret)
	if err != nil || again.SessionSecret != "" || again.Session != nell.Session || !again.SessionExpireTime.AsTime().Equal(d.clock().Add(30*24*time.Hour)) {
		t.Fatalf("renewed = %v, %v", again, err)
	}
	if err := look(again); err != nil {
		t.Errorf("with the second token: %v", err)
	}
	if _, err := d.renew(t, owner.SessionSecret); !fault.Is(err, "SESSION_ENDED") {
		t.Errorf("an owner after a month: %v", err)
	}
	if _, err := d.renew(t, "guess"); !fault.Is(err, "SESSION_ENDED") || !errors.Is(err, fault.Unauthenticated) {
		t.Errorf("a guess: %v", err)
	}
	for range 2 {
		if _, err := d.signin.SignOut(t.Context(), &workflowv1.SignOutRequest{SessionSecret: nell.SessionSecret}); err != nil {
			t.Errorf("signed out: %v", err)
		}
	}
	if _, err := d.renew(t, nell.SessionSecret); !fault.Is(err, "SESSION_ENDED") {
		t.Errorf("renewed after she signed out: %v", err)
	}
	if err := look(again); err != nil {
		t.Errorf("the last token is good for its minutes: %v", err)
	}
	d.later(5*time.Minute + 30*time.Second)
	if err := look(again); !fault.Is(err, "ACCESS_EXPIRED") {
		t.Errorf("and after them: %v", err)
	}
}

// Of all secrets nothing is left but what was made of them: not in a table, an event or the log.
func TestServer_SignIn_LeavesNoSecret(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	person := d.nell(t, owner)
	nell := d.in(t, "Nell", nellsPin)
	_, _ = d.signIn(t, "Nell", "not her secret")
	_, _ = d.signIn(t, "her secret as a name", "x")
	if _, err := d.signin.SetPin(as(t, nell), &workflowv1.SetPinRequest{Person: person, Pin: "736251", OldSecret: nellsPin}); err != nil {
		t.Fatal(err)
	}
	token, err := d.signin.CreateToken(as(t, owner), &workflowv1.CreateTokenRequest{Label: "till", Role: typev1.Role_ROLE_LEAD, ExpireTime: d.inDays(1)})
	if err != nil {
		t.Fatal(err)
	}
	all := d.log.String() + everything(t, d)
	for _, secret := range []string{ownersWords, "736251", "not her secret", nell.SessionSecret, owner.SessionSecret, nell.AccessToken, token.Secret} {
		if strings.Contains(all, secret) {
			t.Errorf("%q is left somewhere", secret)
		}
	}
	if strings.Contains(d.log.String(), "her secret as a name") || strings.Contains(d.log.String(), nellsPin) {
		t.Error("what was typed as a name or PIN is in the log")
	}
	if !strings.Contains(all, "argon2id") || !strings.Contains(all, "SignIn") {
		t.Error("the test does not look where it should")
	}
}

// Where a service has no key, it says so.
func TestServer_SignIn_WithoutAKey(t *testing.T) {
	t.Parallel()
	f := setup(t)
	c := workflowv1.NewSignInServiceClient(f.Conn)
	state, err := c.GetSignInState(t.Context(), &workflowv1.GetSignInStateRequest{})
	if err != nil || state.HasAccessKey || state.HasOwner {
		t.Errorf("state = %v, %v", state, err)
	}
	for name, call := range map[string]func(context.Context) error{
		"SignIn": func(ctx context.Context) error {
			_, err := c.SignIn(ctx, &workflowv1.SignInRequest{DisplayName: "Nell", Secret: nellsPin})
			return err
		},
		"ClaimShop": func(ctx context.Context) error {
			_, err := c.ClaimShop(ctx, &workflowv1.ClaimShopRequest{DisplayName: "Odile", Passphrase: ownersWords})
			return err
		},
		"RenewAccess": func(ctx context.Context) error {
			_, err := c.RenewAccess(ctx, &workflowv1.RenewAccessRequest{Secret: "x"})
			return err
		},
	} {
		if err := call(svctest.Ctx(t)); !fault.Is(err, "NO_ACCESS_KEY") || !errors.Is(err, fault.Precondition) {
			t.Errorf("%s = %v", name, err)
		}
	}
}
