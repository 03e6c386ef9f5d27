package server_test

import (
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (d *door) claimKey(t *testing.T) string {
	t.Helper()
	r, err := d.here.RenewClaimKey(svctest.Ctx(t), &workflowv1.RenewClaimKeyRequest{})
	if err != nil {
		t.Fatal(err)
	}
	return r.Key
}

func claim(key string) *workflowv1.ClaimShopRequest {
	return &workflowv1.ClaimShopRequest{Key: key, DisplayName: "Odile", Passphrase: ownersWords, Device: "office"}
}

// The first owner claims the shop with the key that was shown on its machine, once; a new key takes the place of
// the one before.
func TestServer_ClaimShop(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	state, err := d.signin.GetSignInState(t.Context(), &workflowv1.GetSignInStateRequest{})
	if err != nil || state.HasOwner || !state.HasAccessKey {
		t.Fatalf("state = %v, %v", state, err)
	}
	if _, err := d.signin.ClaimShop(t.Context(), claim("")); !fault.Is(err, "CLAIM_KEY_WRONG") || !errors.Is(err, fault.Unauthenticated) {
		t.Errorf("before there is a key: %v", err)
	}
	old := d.claimKey(t)
	key := d.claimKey(t)
	for name, wrong := range map[string]string{"none": "", "the one before": old, "a guess": "guess"} {
		if _, err := d.signin.ClaimShop(t.Context(), claim(wrong)); !fault.Is(err, "CLAIM_KEY_WRONG") {
			t.Errorf("with %s: %v", name, err)
		}
	}
	weak := claim(key)
	weak.Passphrase = "odileodile"
	if _, err := d.signin.ClaimShop(t.Context(), weak); !fault.Is(err, "PASSPHRASE_GUESSABLE") {
		t.Errorf("with her name: %v", err)
	}
	r, err := d.signin.ClaimShop(t.Context(), claim(key))
	if err != nil {
		t.Fatal(err)
	}
	a := r.Admission
	if a.Role != typev1.Role_ROLE_OWNER || a.DisplayName != "Odile" || a.SessionSecret == "" || !a.SessionExpireTime.AsTime().Equal(morning.Add(12*time.Hour)) {
		t.Errorf("the owner is let in as %v", a)
	}
	if p, err := d.people.GetPerson(as(t, a), &workflowv1.GetPersonRequest{Name: a.Person}); err != nil || p.Person.Role != typev1.Role_ROLE_OWNER {
		t.Errorf("the owner = %v, %v", p, err)
	}
	if e := d.Last(t); e.GetPersonAdded().GetDisplayName() != "Odile" || e.Actor != "Odile" {
		t.Errorf("event = %v", e)
	}
	if _, err := d.signin.ClaimShop(t.Context(), claim(key)); !fault.Is(err, "SHOP_HAS_OWNER") {
		t.Errorf("again: %v", err)
	}
	if _, err := d.here.RenewClaimKey(svctest.Ctx(t), &workflowv1.RenewClaimKeyRequest{}); !fault.Is(err, "SHOP_HAS_OWNER") {
		t.Errorf("another key: %v", err)
	}
	if state, err := d.signin.GetSignInState(t.Context(), &workflowv1.GetSignInStateRequest{}); err != nil || !state.HasOwner {
		t.Errorf("state = %v, %v", state, err)
	}
	d.in(t, "odile", ownersWords)
}

// Somebody who is in the shop already becomes its owner; on its own machine no key is asked for.
func TestServer_ClaimShop_OnItsMachine(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	added, err := workflowv1.NewPeopleServiceClient(d.Conn).AddPerson(svctest.Ctx(t), &workflowv1.AddPersonRequest{RequestId: svctest.NewID(), DisplayName: "Odile", Skills: []string{"spray"}})
	if err != nil {
		t.Fatal(err)
	}
	r, err := d.here.ClaimShop(svctest.Ctx(t), claim(""))
	if err != nil || r.Admission.Person != added.Person.Name {
		t.Errorf("claimed by %v, %v; want who is in the shop already", r, err)
	}
	if n := len(d.Events(t)); n != 1 {
		t.Errorf("%d events, want that she was added", n)
	}
}

// Of several who claim the shop at once one gets it.
func TestServer_ClaimShop_Racing(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	key := d.claimKey(t)
	var got, late atomic.Int32
	var all sync.WaitGroup
	for _, name := range []string{"Odile", "Mallory", "Joss", "Priya"} {
		all.Go(func() {
			r := claim(key)
			r.DisplayName = name
			switch _, err := d.signin.ClaimShop(t.Context(), r); {
			case err == nil:
				got.Add(1)
			case fault.Is(err, "SHOP_HAS_OWNER"):
				late.Add(1)
			default:
				t.Errorf("%s: %v", name, err)
			}
		})
	}
	all.Wait()
	if got.Load() != 1 || late.Load() != 3 {
		t.Errorf("%d got the shop, %d were late", got.Load(), late.Load())
	}
}

// From elsewhere nobody does what is for the shop's own machine, not even an owner; there an owner gets back in who was
// locked out, and the sessions of before end.
func TestServer_ResetOwner(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	nell := d.nell(t, owner)
	reset := &workflowv1.ResetOwnerRequest{Person: owner.Person, Passphrase: "another turn of the brush"}
	if _, err := d.signin.ResetOwner(as(t, owner), reset); !fault.Is(err, "NOT_ON_THIS_MACHINE") || !errors.Is(err, fault.Denied) {
		t.Errorf("an owner, from elsewhere: %v", err)
	}
	if _, err := d.here.ResetOwner(as(t, owner), reset); !fault.Is(err, "NOT_ON_THIS_MACHINE") {
		t.Errorf("an owner with their token, here: %v", err)
	}
	if _, err := d.signin.RenewClaimKey(as(t, owner), &workflowv1.RenewClaimKeyRequest{}); !fault.Is(err, "NOT_ON_THIS_MACHINE") {
		t.Errorf("a key, from elsewhere: %v", err)
	}
	for range 5 {
		_, _ = d.signIn(t, "Odile", "forgotten")
	}
	if _, err := d.signIn(t, "Odile", ownersWords); !fault.Is(err, "SIGN_IN_LOCKED") {
		t.Errorf("locked: %v", err)
	}
	svctest.Refused(t, d.Service, d.here.ResetOwner, &workflowv1.ResetOwnerRequest{Person: owner.Person, Passphrase: "short"}, fault.Invalid, "PASSPHRASE_SHORT")
	if _, err := d.here.ResetOwner(svctest.Ctx(t), reset); err != nil {
		t.Fatal(err)
	}
	if _, err := d.signIn(t, "Odile", ownersWords); !fault.Is(err, "SIGN_IN_WRONG") {
		t.Errorf("with the old one: %v", err)
	}
	d.in(t, "Odile", reset.Passphrase)
	if _, err := d.renew(t, owner.SessionSecret); !fault.Is(err, "SESSION_ENDED") {
		t.Errorf("the session of before: %v", err)
	}
	if _, err := d.here.ResetOwner(svctest.Ctx(t), &workflowv1.ResetOwnerRequest{Person: nell, Passphrase: "yet another passphrase"}); err != nil {
		t.Errorf("a helper becomes the owner: %v", err)
	}
	if a := d.in(t, "Nell", "yet another passphrase"); a.Role != typev1.Role_ROLE_OWNER {
		t.Errorf("she is %v", a.Role)
	}
}
