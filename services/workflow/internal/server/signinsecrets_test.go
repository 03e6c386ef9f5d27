package server_test

import (
	"sync"
	"sync/atomic"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (d *door) setPin(t *testing.T, by *workflowv1.Admission, who, pin, old string) error {
	_, err := d.signin.SetPin(as(t, by), &workflowv1.SetPinRequest{Person: who, Pin: pin, OldSecret: old})
	return err
}

func (d *door) setPassphrase(t *testing.T, by *workflowv1.Admission, who, passphrase, old string) error {
	_, err := d.signin.SetPassphrase(as(t, by), &workflowv1.SetPassphraseRequest{Person: who, Passphrase: passphrase, OldSecret: old})
	return err
}

// Who changes their own secret knows the old one; their other devices have to sign in anew.
func TestServer_SetPin_Own(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	person := d.nell(t, owner)
	phone, tablet := d.in(t, "Nell", nellsPin), d.in(t, "Nell", nellsPin)
	for old, reason := range map[string]string{"": "SIGN_IN_WRONG", "9999": "SIGN_IN_WRONG"} {
		if err := d.setPin(t, phone, person, "7362", old); !fault.Is(err, reason) {
			t.Errorf("with the old one %q: %v, want %s", old, err, reason)
		}
	}
	if err := d.setPin(t, phone, person, "1234", nellsPin); !fault.Is(err, "PIN_GUESSABLE") {
		t.Errorf("1234: %v", err)
	}
	if err := d.setPin(t, phone, person, "7362", nellsPin); err != nil {
		t.Fatal(err)
	}
	if _, err := d.renew(t, phone.SessionSecret); err != nil {
		t.Errorf("the device on which she changed it: %v", err)
	}
	if _, err := d.renew(t, tablet.SessionSecret); !fault.Is(err, "SESSION_ENDED") {
		t.Errorf("her other device: %v", err)
	}
	if _, err := d.signIn(t, "Nell", nellsPin); !fault.Is(err, "SIGN_IN_WRONG") {
		t.Errorf("with the old one: %v", err)
	}
	d.in(t, "Nell", "7362")
	if err := d.setPassphrase(t, phone, person, "shellac and spirit", "7362"); err != nil {
		t.Errorf("a helper takes a passphrase: %v", err)
	}
	d.in(t, "Nell", "shellac and spirit")
}

// Leads give helpers a PIN, owners give anybody what they may have, and helpers give others nothing.
func TestServer_SetPin_Others(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	person, joss := d.nell(t, owner), d.lead(t, owner)
	mo := d.hire(t, owner, "Mo")
	nell := d.in(t, "Nell", nellsPin)
	if err := d.setPin(t, nell, mo, "7362", nellsPin); !fault.Is(err, "NOT_YOURS") {
		t.Errorf("a helper gives another a PIN: %v", err)
	}
	if err := d.setPin(t, joss, mo, "7362", ""); err != nil {
		t.Errorf("a lead gives a helper a PIN: %v", err)
	}
	d.in(t, "Mo", "7362")
	if err := d.setPassphrase(t, joss, person, "shellac and spirit", ""); !fault.Is(err, "NOT_YOURS") {
		t.Errorf("a lead gives a helper a passphrase: %v", err)
	}
	if err := d.setPin(t, owner, joss.Person, "7362", ""); !fault.Is(err, "PASSPHRASE_NEEDED") {
		t.Errorf("an owner gives a lead a PIN: %v", err)
	}
	if err := d.setPassphrase(t, owner, joss.Person, "another turn of the brush", ""); err != nil {
		t.Errorf("an owner gives a lead a passphrase: %v", err)
	}
	if _, err := d.renew(t, joss.SessionSecret); !fault.Is(err, "SESSION_ENDED") {
		t.Errorf("the lead's session: %v", err)
	}
	if err := d.setPassphrase(t, owner, owner.Person, "yet another passphrase", "wrong"); !fault.Is(err, "SIGN_IN_WRONG") {
		t.Errorf("an owner, without their old one: %v", err)
	}
	if err := d.setPin(t, owner, id.Name("people", id.New()), "7362", ""); !fault.Is(err, "PERSON_NOT_FOUND") {
		t.Errorf("somebody who is not there: %v", err)
	}
}

// A role is changed by owners, and ends what was given for the one before.
func TestServer_SetRole(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner := d.claimed(t)
	person, joss := d.nell(t, owner), d.lead(t, owner)
	nell := d.in(t, "Nell", nellsPin)
	role := func(by *workflowv1.Admission, who string, to typev1.Role) error {
		_, err := d.signin.SetRole(as(t, by), &workflowv1.SetRoleRequest{RequestId: svctest.NewID(), Person: who, Role: to})
		return err
	}
	if err := role(joss, person, typev1.Role_ROLE_LEAD); !fault.Is(err, "ROLE_TOO_LOW") {
		t.Errorf("a lead makes a lead: %v", err)
	}
	if err := role(owner, person, typev1.Role_ROLE_HELPER); !fault.Is(err, "ROLE_UNCHANGED") {
		t.Errorf("a helper becomes one: %v", err)
	}
	if err := role(owner, owner.Person, typev1.Role_ROLE_LEAD); !fault.Is(err, "LAST_OWNER") {
		t.Errorf("the only owner leaves: %v", err)
	}
	d.become(t, owner, person, typev1.Role_ROLE_LEAD)
	if _, err := d.renew(t, nell.SessionSecret); !fault.Is(err, "SESSION_ENDED") {
		t.Errorf("Nell's session: %v", err)
	}
	if _, err := d.signIn(t, "Nell", nellsPin); !fault.Is(err, "SIGN_IN_WRONG") {
		t.Errorf("a lead with a PIN: %v", err)
	}
	if p, err := d.people.GetPerson(as(t, owner), &workflowv1.GetPersonRequest{Name: person}); err != nil || p.Person.Role != typev1.Role_ROLE_LEAD || p.Person.Etag != `"1"` {
		t.Errorf("Nell = %v, %v", p, err)
	}
	d.become(t, owner, joss.Person, typev1.Role_ROLE_OWNER)
	if a := d.in(t, "Joss", "boiled linseed oil"); a.Role != typev1.Role_ROLE_OWNER {
		t.Errorf("Joss signs in as %v", a.Role)
	}
	if err := role(owner, owner.Person, typev1.Role_ROLE_LEAD); err != nil {
		t.Errorf("an owner leaves beside another: %v", err)
	}
	again, err := d.renew(t, owner.SessionSecret)
	if err != nil || again.Role != typev1.Role_ROLE_LEAD {
		t.Errorf("and goes on as %v, %v", again, err)
	}
}

// Of two owners who leave at the same moment one stays.
func TestServer_SetRole_Racing(t *testing.T) {
	t.Parallel()
	d := setupDoor(t)
	owner, joss := d.claimed(t), (*workflowv1.Admission)(nil)
	joss = d.lead(t, owner)
	d.become(t, owner, joss.Person, typev1.Role_ROLE_OWNER)
	joss = d.in(t, "Joss", "boiled linseed oil")
	var left, stayed atomic.Int32
	var all sync.WaitGroup
	for _, a := range []*workflowv1.Admission{owner, joss} {
		all.Go(func() {
			switch _, err := d.signin.SetRole(as(t, a), &workflowv1.SetRoleRequest{RequestId: svctest.NewID(), Person: a.Person, Role: typev1.Role_ROLE_HELPER}); {
			case err == nil:
				left.Add(1)
			case fault.Is(err, "LAST_OWNER"):
				stayed.Add(1)
			default:
				t.Errorf("%s: %v", a.DisplayName, err)
			}
		})
	}
	all.Wait()
	if left.Load() != 1 || stayed.Load() != 1 {
		t.Errorf("%d left, %d stayed", left.Load(), stayed.Load())
	}
}
