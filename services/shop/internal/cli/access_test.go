package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// typed puts a text on standard input.
func typed(t *testing.T, text string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "typed")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	in, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	before := os.Stdin
	os.Stdin = in
	t.Cleanup(func() {
		os.Stdin = before
		_ = in.Close()
	})
}

func TestPerson_Access(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("person role Nell lead"), &workflowv1.SetRoleRequest{Person: "people/n", Role: typev1.Role_ROLE_LEAD})
	f.gives(t, line("person unlock nell"), &workflowv1.UnlockSignInRequest{Person: "people/n"})
	f.refuses(t, line("person role Nell king"), "helper")
	f.refuses(t, line("person role Mo lead"), "nobody called")
	typed(t, "4827\n")
	f.gives(t, line("person pin Nell --stdin"), &workflowv1.SetPinRequest{Person: "people/n", Pin: "4827"})
	typed(t, "linseed and turpentine\r\nmore")
	f.gives(t, line("person passphrase Nell --stdin"), &workflowv1.SetPassphraseRequest{Person: "people/n", Passphrase: "linseed and turpentine"})
	typed(t, " no line end")
	f.gives(t, line("owner reset Nell --stdin"), &workflowv1.ResetOwnerRequest{Person: "people/n", Passphrase: " no line end"})
}

// A secret is never on the command line, and is not read from what is no terminal unless that was said.
func TestPerson_PinFromATerminal(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	typed(t, "4827\n")
	f.refuses(t, line("person pin Nell"), "--stdin")
	f.refuses(t, line("person pin Nell 4827"), "unexpected argument")
}

// Whoever becomes the owner at a terminal leaves no session behind, and no secret on the screen.
func TestOwner_Claim(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	for _, form := range []string{"", " --json"} {
		typed(t, "linseed and turpentine\n")
		before := len(f.commands())
		out := f.says(t, line("owner claim 'Odile M' --stdin"+form), "Odile M")
		if strings.Contains(out, "of the session") || strings.Contains(out, "of the access") || strings.Contains(out, "turpentine") {
			t.Errorf("it prints a secret: %s", out)
		}
		got := f.commands()[before:]
		if len(got) != 2 || got[0].(*workflowv1.ClaimShopRequest).Passphrase != "linseed and turpentine" || got[1].(*workflowv1.SignOutRequest).SessionSecret != "of the session" {
			t.Errorf("it gives %v", got)
		}
	}
}

func TestToken(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	out := f.says(t, line("token add Till --role lead --read-only --method tackfree.intake.v1.IntakeService --method tackfree.sales.v1.SalesService --days 30"), "tackfree_shownonce", "not shown again")
	if !strings.HasPrefix(out, "tackfree_shownonce\n") {
		t.Errorf("a script cannot read the secret from the first line of %q", out)
	}
	r := f.commands()[0].(*workflowv1.CreateTokenRequest)
	if r.Label != "Till" || r.Role != typev1.Role_ROLE_LEAD || !r.ReadOnly || len(r.Methods) != 2 || r.ExpireTime == nil {
		t.Errorf("it asks for %v", r)
	}
	f.says(t, line("token list"), "Shop window helper, reads only tackfree.intake.v1.IntakeService Odile", "Till lead – Odile")
	f.gives(t, line("token revoke till"), &workflowv1.RevokeTokenRequest{Token: "tokens/1"})
	f.refuses(t, line("token revoke Web"), "no program called")
}

func TestSession(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.says(t, line("session list Nell"), "1 Nell phone", "2 Nell –")
	f.gives(t, line("session end Nell 2"), &workflowv1.EndSessionRequest{Session: "sessions/1"})
	f.refuses(t, line("session end Nell 3"), "on 2 devices")
	f.refuses(t, line("session end Nell 0"), "on 2 devices")
}

// With a token's secret each call brings access, which is asked for once; a secret that is none is said.
func TestReach_Token(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.door.secret = "tackfree_good"
	code, _, errs := f.run(t, "person", "list", "--token", "tackfree_good")
	if code != 1 || !strings.Contains(errs, "NO_ACCESS_KEY") || f.door.renewed != 1 { // the fake checks no tokens, and says that it was brought one
		t.Errorf("with a token: %d, %s, renewed %d times", code, errs, f.door.renewed)
	}
	if code, _, errs := f.run(t, "person", "list", "--token", "tackfree_bad"); code != 1 || !strings.Contains(errs, "This session has ended. Sign in again. (SESSION_ENDED)") {
		t.Errorf("with a token that is none: %d, %s", code, errs)
	}
	f.without = []string{"workflow"}
	if code, _, errs := f.run(t, "piece", "list", "--token", "tackfree_good"); code != 1 || !strings.Contains(errs, "--workflow-addr") {
		t.Errorf("without workflow: %d, %s", code, errs)
	}
}
