package workflow_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

func TestCheckPin(t *testing.T) {
	for pin, reason := range map[string]string{
		"4827": "", "48271": "", "48271953": "", "1123": "", "1357": "", "9081": "", "0190": "",
		"": "PIN_MALFORMED", "482": "PIN_MALFORMED", "482719530": "PIN_MALFORMED", "48 27": "PIN_MALFORMED", "48a7": "PIN_MALFORMED", "٤٨٢٧": "PIN_MALFORMED", "-482": "PIN_MALFORMED",
		"1234": "PIN_GUESSABLE", "4321": "PIN_GUESSABLE", "7890": "PIN_GUESSABLE", "0123": "PIN_GUESSABLE", "3210": "PIN_GUESSABLE", "2109": "PIN_GUESSABLE", "12345678": "PIN_GUESSABLE",
		"1111": "PIN_GUESSABLE", "00000000": "PIN_GUESSABLE", "1212": "PIN_GUESSABLE", "373737": "PIN_GUESSABLE", "123123": "PIN_GUESSABLE", "48274827": "PIN_GUESSABLE",
	} {
		err := workflow.CheckPin(pin)
		if fault.Reason(err) != reason {
			t.Errorf("CheckPin(%q) = %v, want %q", pin, err, reason)
		}
		if f := fault.Of(err); f != nil && pin != "" && (f.Fields[0].Path != "pin" || contains(f.Text, pin)) {
			t.Errorf("CheckPin(%q) tells it, or not where: %v", pin, f)
		}
	}
}

func contains(text, pin string) bool {
	for i := 0; i+len(pin) <= len(text); i++ {
		if text[i:i+len(pin)] == pin {
			return true
		}
	}
	return false
}

func TestCheckPassphrase(t *testing.T) {
	for passphrase, reason := range map[string]string{
		"linseed and turpentine": "", "þæð örlög í vör": "", "odile odile walnut": "",
		"walnut": "PASSPHRASE_SHORT", "123456789": "PASSPHRASE_SHORT", "ééééééééé": "PASSPHRASE_SHORT",
		"aaaaaaaaaaaa": "PASSPHRASE_GUESSABLE", "abababababab": "PASSPHRASE_GUESSABLE", "Odile Odile Odile": "PASSPHRASE_GUESSABLE", "odileodile1": "PASSPHRASE_GUESSABLE",
	} {
		if err := workflow.CheckPassphrase(passphrase, "odile"); fault.Reason(err) != reason {
			t.Errorf("CheckPassphrase(%q) = %v, want %q", passphrase, err, reason)
		}
	}
}

// The fifth wrong one in a row locks for half a minute, and each one after a lock for twice as long, up to a
// quarter of an hour. Nothing is counted while it is locked.
func TestAttempts_Try(t *testing.T) {
	now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	a := workflow.Attempts{}
	var err error
	for i := range 5 {
		if a, err = a.Try(now); err != nil {
			t.Fatalf("attempt %d: %v", i+1, err)
		}
	}
	for i, want := range []time.Duration{30 * time.Second, time.Minute, 2 * time.Minute, 4 * time.Minute, 8 * time.Minute, 15 * time.Minute, 15 * time.Minute} {
		if got := a.LockedUntil.Sub(now); got != want {
			t.Errorf("lock %d is for %v, want %v", i+1, got, want)
		}
		during, err := a.Try(a.LockedUntil.Add(-time.Millisecond))
		if !fault.Is(err, "SIGN_IN_LOCKED") || during != a {
			t.Errorf("during lock %d: %v, %+v", i+1, err, during)
		}
		now = a.LockedUntil
		if a, err = a.Try(now); err != nil {
			t.Errorf("after lock %d: %v", i+1, err)
		}
	}
	if far := try(t, workflow.Attempts{Failures: 1 << 30}, now); far.LockedUntil.Sub(now) != 15*time.Minute {
		t.Error("after very many it is locked for other than a quarter of an hour")
	}
}

func try(t *testing.T, a workflow.Attempts, now time.Time) workflow.Attempts {
	t.Helper()
	next, err := a.Try(now)
	if err != nil {
		t.Fatal(err)
	}
	return next
}

// Who may give whom what, for every pair of roles.
func TestSignIn_WhoMay(t *testing.T) {
	self := id.New()
	for _, c := range []struct {
		by, of                  workflow.Role
		own                     bool
		pin, passphrase, unlock string
	}{
		{workflow.RoleHelper, workflow.RoleHelper, true, "", "", "NOT_YOURS"},
		{workflow.RoleHelper, workflow.RoleHelper, false, "NOT_YOURS", "NOT_YOURS", "NOT_YOURS"},
		{workflow.RoleHelper, workflow.RoleLead, false, "PASSPHRASE_NEEDED", "NOT_YOURS", "NOT_YOURS"},
		{workflow.RoleHelper, workflow.RoleOwner, false, "PASSPHRASE_NEEDED", "NOT_YOURS", "NOT_YOURS"},
		{workflow.RoleLead, workflow.RoleHelper, false, "", "NOT_YOURS", ""},
		{workflow.RoleLead, workflow.RoleLead, true, "PASSPHRASE_NEEDED", "", "NOT_YOURS"},
		{workflow.RoleLead, workflow.RoleLead, false, "PASSPHRASE_NEEDED", "NOT_YOURS", "NOT_YOURS"},
		{workflow.RoleLead, workflow.RoleOwner, false, "PASSPHRASE_NEEDED", "NOT_YOURS", "NOT_YOURS"},
		{workflow.RoleOwner, workflow.RoleHelper, false, "", "", ""},
		{workflow.RoleOwner, workflow.RoleLead, false, "PASSPHRASE_NEEDED", "", ""},
		{workflow.RoleOwner, workflow.RoleOwner, true, "PASSPHRASE_NEEDED", "", "NOT_YOURS"},
		{workflow.RoleOwner, workflow.RoleOwner, false, "PASSPHRASE_NEEDED", "", ""},
	} {
		who := workflow.SignIn{Person: workflow.Person{ID: self, Name: "Nell", Role: c.of}}
		by := workflow.Asker{Person: id.New(), Role: c.by}
		if c.own {
			by.Person = self
		}
		name := fmt.Sprintf("%s for %s, own %v", c.by, c.of, c.own)
		for what, got := range map[string][2]string{"a PIN": {fault.Reason(who.MaySetPin(by)), c.pin},
			"a passphrase": {fault.Reason(who.MaySetPassphrase(by)), c.passphrase}, "to unlock": {fault.Reason(who.MayUnlock(by)), c.unlock}} {
			if got[0] != got[1] {
				t.Errorf("%s: %s = %q, want %q", name, what, got[0], got[1])
			}
		}
		sees := c.own || c.by == workflow.RoleOwner
		if err := by.MaySeeSessions(self); (err == nil) != sees {
			t.Errorf("%s: sees sessions: %v", name, err)
		}
	}
	if (workflow.Asker{Role: workflow.RoleHelper}).MaySeeSessions(id.Nil) == nil {
		t.Error("a program sees everybody's sessions")
	}
}

// The last owner who can sign in stays one; a PIN goes with the role of helper.
func TestSignIn_ChangeRole(t *testing.T) {
	now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	left := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	odile := workflow.Person{ID: id.New(), Name: "Odile", Role: workflow.RoleOwner}
	other := func(role workflow.Role, to time.Time, passphrase bool) workflow.OwnerInOffice {
		return workflow.OwnerInOffice{Person: workflow.Person{ID: id.New(), Role: role, ActiveTo: to}, HasPassphrase: passphrase}
	}
	herself := workflow.OwnerInOffice{Person: odile, HasPassphrase: true}
	for name, c := range map[string]struct {
		others []workflow.OwnerInOffice
		reason string
	}{
		"alone":                           {nil, "LAST_OWNER"},
		"beside another":                  {[]workflow.OwnerInOffice{other(workflow.RoleOwner, time.Time{}, true)}, ""},
		"beside one who left":             {[]workflow.OwnerInOffice{other(workflow.RoleOwner, left, true)}, "LAST_OWNER"},
		"beside one who cannot sign in":   {[]workflow.OwnerInOffice{other(workflow.RoleOwner, time.Time{}, false)}, "LAST_OWNER"},
		"beside a lead, to whom it is no": {[]workflow.OwnerInOffice{other(workflow.RoleLead, time.Time{}, true)}, "LAST_OWNER"},
	} {
		_, err := workflow.SignIn{Person: odile, Kind: workflow.Passphrase}.ChangeRole(workflow.RoleLead, append(c.others, herself), now)
		if fault.Reason(err) != c.reason {
			t.Errorf("%s: %v, want %q", name, err, c.reason)
		}
	}
	if _, err := (workflow.SignIn{Person: odile, Kind: workflow.Passphrase}).ChangeRole(workflow.RoleOwner, nil, now); !fault.Is(err, "ROLE_UNCHANGED") {
		t.Errorf("an owner becomes an owner: %v", err)
	}
	for _, c := range []struct {
		kind workflow.SecretKind
		to   workflow.Role
		want bool
	}{{workflow.Pin, workflow.RoleLead, false}, {workflow.Pin, workflow.RoleOwner, false}, {workflow.Passphrase, workflow.RoleLead, true}, {workflow.NoSecret, workflow.RoleLead, true}} {
		if keeps, err := (workflow.SignIn{Person: workflow.Person{ID: id.New(), Role: workflow.RoleHelper}, Kind: c.kind}).ChangeRole(c.to, nil, now); err != nil || keeps != c.want {
			t.Errorf("a helper with %q who becomes a %s keeps it: %v, %v", c.kind, c.to, keeps, err)
		}
	}
}

// A session in use goes on; one that was not used for long, or was ended, does not.
func TestSession_Renew(t *testing.T) {
	now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	person := workflow.Person{ID: id.New(), Name: "Nell", ActiveTo: time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)}
	for name, c := range map[string]struct {
		session workflow.Session
		at      time.Time
		expires time.Time
		reason  string
	}{
		"a helper's":       {workflow.Session{Person: person, Role: workflow.RoleHelper, Expires: now.Add(time.Minute)}, now, now.Add(30 * 24 * time.Hour), ""},
		"a lead's":         {workflow.Session{Person: person, Role: workflow.RoleLead, Expires: now.Add(time.Minute)}, now, now.Add(30 * 24 * time.Hour), ""},
		"an owner's":       {workflow.Session{Person: person, Role: workflow.RoleOwner, Expires: now.Add(time.Minute)}, now, now.Add(12 * time.Hour), ""},
		"a program's":      {workflow.Session{Label: "till", Role: workflow.RoleLead, Expires: now.Add(time.Minute)}, now, now.Add(time.Minute), ""},
		"at its very end":  {workflow.Session{Person: person, Role: workflow.RoleHelper, Expires: now}, now, now, "SESSION_ENDED"},
		"ended":            {workflow.Session{Person: person, Role: workflow.RoleHelper, Expires: now.Add(time.Hour), Ended: true}, now, now.Add(time.Hour), "SESSION_ENDED"},
		"of one who left":  {workflow.Session{Person: person, Role: workflow.RoleHelper, Expires: now.AddDate(0, 0, 9)}, now.AddDate(0, 0, 1), now.AddDate(0, 0, 31), "PERSON_INACTIVE"},
		"a program's, old": {workflow.Session{Label: "till", Role: workflow.RoleLead, Expires: now}, now.Add(1), now, "SESSION_ENDED"},
	} {
		got, err := c.session.Renew(c.at)
		if fault.Reason(err) != c.reason || !got.Expires.Equal(c.expires) {
			t.Errorf("%s: until %v, %v; want %v, %q", name, got.Expires, err, c.expires, c.reason)
		}
	}
}

func TestCheckToken(t *testing.T) {
	now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	for expires, reason := range map[time.Time]string{now: "TIME_IN_PAST", now.Add(time.Second): "", now.AddDate(5, 0, 0): "", now.AddDate(5, 0, 5): "TIME_TOO_FAR"} {
		if err := workflow.CheckToken(expires, now); fault.Reason(err) != reason || err != nil && !errors.Is(err, fault.Invalid) {
			t.Errorf("until %v: %v, want %q", expires, err, reason)
		}
	}
}
