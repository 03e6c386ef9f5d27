package store_test

import (
	"bytes"
	"context"
	"errors"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

var doorOpens = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func TestStore_SignIn_RoundTrip(t *testing.T) {
	db := setup(t)
	nell := hire(t, db, "Nell")
	must(t, db, func(ctx context.Context, st store.Store) error {
		return errors.Join(st.SetRole(ctx, nell.ID, workflow.RoleOwner), st.SetSignIn(ctx, nell.ID, workflow.Pin, "$argon2id$1", doorOpens))
	})
	read := func() (byName, locked workflow.SignIn, owner bool) {
		must(t, db, func(ctx context.Context, st store.Store) (err error) {
			if byName, err = st.SignInByName(ctx, "nell"); err != nil {
				return err
			}
			if locked, err = st.LockSignIn(ctx, nell.ID); err != nil {
				return err
			}
			owner, err = st.HasOwner(ctx)
			return err
		})
		return byName, locked, owner
	}
	want := workflow.SignIn{Person: workflow.Person{ID: nell.ID, Name: "Nell", Role: workflow.RoleOwner}, NameKey: "nell", Kind: workflow.Pin, Hash: "$argon2id$1"}
	byName, locked, owner := read()
	same(t, "by name", want, byName)
	same(t, "locked", want, locked)
	if owner {
		t.Error("an owner with a PIN can sign in")
	}
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.SetSignIn(ctx, nell.ID, workflow.Passphrase, "$argon2id$2", doorOpens)
	})
	if _, locked, owner = read(); !owner || locked.Hash != "$argon2id$2" || locked.Kind != workflow.Passphrase {
		t.Errorf("after another secret: %+v, has owner %v", locked, owner)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.DropSignIn(ctx, nell.ID) })
	if _, locked, owner = read(); owner || locked.Hash != "" || locked.Kind != workflow.NoSecret {
		t.Errorf("after the secret was taken: %+v, has owner %v", locked, owner)
	}
	see(t, db, func(ctx context.Context, st store.Store) error {
		nobody, err := st.SignInByName(ctx, "odo")
		same(t, "nobody", workflow.SignIn{NameKey: "odo"}, nobody)
		return err
	})
}

func TestStore_Attempts(t *testing.T) {
	db := setup(t)
	until := doorOpens.Add(time.Minute)
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, name := range []string{"nell", "odo"} {
			a, err := st.LockAttempts(ctx, name, doorOpens)
			same(t, "before any", workflow.Attempts{}, a)
			if err != nil {
				return err
			}
		}
		return st.SaveAttempts(ctx, "nell", workflow.Attempts{Failures: 7, LockedUntil: until}, doorOpens.Add(-time.Hour))
	})
	must(t, db, func(ctx context.Context, st store.Store) error {
		a, err := st.LockAttempts(ctx, "nell", doorOpens.Add(time.Second))
		if err != nil {
			return err
		}
		a.LockedUntil = a.LockedUntil.UTC()
		same(t, "saved", workflow.Attempts{Failures: 7, LockedUntil: until}, a)
		return st.SaveAttempts(ctx, "nell", a, doorOpens.Add(time.Second)) // odo's were before
	})
	must(t, db, func(ctx context.Context, st store.Store) error {
		if was, err := st.DropAttempts(ctx, "nell", doorOpens); err != nil || !was {
			t.Errorf("DropAttempts of a locked name = %v, %v", was, err)
		}
		if was, err := st.DropAttempts(ctx, "nell", doorOpens); err != nil || was {
			t.Errorf("DropAttempts again = %v, %v", was, err)
		}
		return nil
	})
	var left int
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT count(*) FROM sign_in_attempt`).Scan(&left)
	})
	if err != nil || left != 0 {
		t.Errorf("%d names are left, %v; want that old ones are forgotten", left, err)
	}
}

func TestStore_Sessions(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	sum := func(b byte) []byte { return bytes.Repeat([]byte{b}, 32) }
	session := func(p workflow.Person, label string) workflow.Session {
		return workflow.Session{ID: id.New(), Person: workflow.Person{ID: p.ID, Name: p.Name}, Label: label, Role: workflow.RoleHelper, Created: doorOpens, Used: doorOpens, Expires: doorOpens.Add(time.Hour)}
	}
	phone, tablet, his := session(nell, "phone"), session(nell, "tablet"), session(odo, "phone")
	till := workflow.Session{ID: id.New(), Label: "Till", Role: workflow.RoleLead, ReadOnly: true, Methods: []string{"a", "b"}, Actor: "Odile", Created: doorOpens, Expires: doorOpens.Add(time.Hour)}
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		for i, s := range []workflow.Session{phone, tablet, his, till} {
			err = errors.Join(err, st.InsertSession(ctx, s, sum(byte(i))))
		}
		return err
	})
	list := func(person, before id.ID, limit int32, at time.Time) (labels []string) {
		see(t, db, func(ctx context.Context, st store.Store) error {
			sessions, err := st.Sessions(ctx, person, before, limit, at)
			for _, s := range sessions {
				labels = append(labels, s.Person.Name+" "+s.Label)
			}
			return err
		})
		return labels
	}
	same(t, "all", []string{"Odo phone", "Nell tablet", "Nell phone"}, list(id.Nil, id.Nil, 9, doorOpens))
	same(t, "a page", []string{"Nell tablet"}, list(id.Nil, his.ID, 1, doorOpens))
	same(t, "Nell's", []string{"Nell tablet", "Nell phone"}, list(nell.ID, id.Nil, 9, doorOpens))
	same(t, "later", []string(nil), list(id.Nil, id.Nil, 9, doorOpens.Add(time.Hour)))
	must(t, db, func(ctx context.Context, st store.Store) error {
		tokens, err := st.Tokens(ctx, id.Nil, 9, doorOpens)
		if len(tokens) != 1 || tokens[0].Label != "Till" || !tokens[0].ReadOnly || len(tokens[0].Methods) != 2 || tokens[0].Role != workflow.RoleLead || tokens[0].Actor != "Odile" || !tokens[0].Used.IsZero() {
			t.Errorf("Tokens = %+v", tokens)
		}
		got, err2 := st.LockSession(ctx, sum(3))
		if got.Name() != "Till" || !got.Program() || got.Role != workflow.RoleLead || got.Ended {
			t.Errorf("LockSession = %+v", got)
		}
		if _, err := st.LockSession(ctx, sum(9)); !fault.Is(err, "SESSION_ENDED") {
			t.Errorf("LockSession of nobody = %v", err)
		}
		if _, err := st.Session(ctx, till.ID, false); !fault.Is(err, "SESSION_NOT_FOUND") {
			t.Errorf("a program's session = %v", err)
		}
		if _, err := st.Session(ctx, phone.ID, true); !fault.Is(err, "TOKEN_NOT_FOUND") {
			t.Errorf("a person's token = %v", err)
		}
		return errors.Join(err, err2, st.EndSessionsOf(ctx, nell.ID, tablet.ID, doorOpens), st.EndSessionBySecret(ctx, sum(3), doorOpens))
	})
	same(t, "after Nell's were ended but the tablet's", []string{"Odo phone", "Nell tablet"}, list(id.Nil, id.Nil, 9, doorOpens))
	must(t, db, func(ctx context.Context, st store.Store) error {
		if ended, err := st.LockSession(ctx, sum(0)); err != nil || !ended.Ended {
			t.Errorf("an ended session = %+v, %v", ended, err)
		}
		if still, err := st.LockSession(ctx, sum(3)); err != nil || still.Ended {
			t.Errorf("a program signs out with its token: %+v, %v", still, err)
		}
		return st.ForgetSessions(ctx, doorOpens.Add(time.Minute))
	})
	see(t, db, func(ctx context.Context, st store.Store) error {
		if _, err := st.LockSession(ctx, sum(0)); !fault.Is(err, "SESSION_ENDED") {
			t.Errorf("a session that ended long ago = %v", err)
		}
		_, err := st.LockSession(ctx, sum(1))
		return err
	})
}

// The label of a program that may no longer come in can be given again; that of one that may cannot.
func TestStore_TokenLabels(t *testing.T) {
	db := setup(t)
	insert := func(label string, expires time.Time, secret byte) error {
		return inTx(t, db, func(ctx context.Context, st store.Store) error {
			return st.InsertSession(ctx, workflow.Session{ID: id.New(), Label: label, Role: workflow.RoleLead, Created: doorOpens, Expires: expires}, bytes.Repeat([]byte{secret}, 32))
		})
	}
	if err := insert("Till", doorOpens.Add(time.Hour), 1); err != nil {
		t.Fatal(err)
	}
	if err := insert(" TILL", doorOpens.Add(time.Hour), 2); !fault.Is(err, "TOKEN_LABEL_TAKEN") || !errors.Is(err, fault.Exists) {
		t.Errorf("the same label = %v", err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.EndExpiredTokens(ctx, doorOpens.Add(time.Hour))
	})
	if err := insert("till", doorOpens.Add(2*time.Hour), 3); err != nil {
		t.Errorf("the label of one that has ended = %v", err)
	}
}

// Owners are locked with whoever may become one, so that two cannot leave at the same moment.
func TestStore_LockOwners(t *testing.T) {
	db := setup(t)
	nell, odo, ana := hire(t, db, "Nell"), hire(t, db, "Odo"), hire(t, db, "Ana")
	must(t, db, func(ctx context.Context, st store.Store) error {
		return errors.Join(st.SetRole(ctx, nell.ID, workflow.RoleOwner), st.SetRole(ctx, odo.ID, workflow.RoleOwner), st.SetSignIn(ctx, odo.ID, workflow.Passphrase, "$argon2id$", doorOpens))
	})
	see(t, db, func(ctx context.Context, st store.Store) error {
		owners, err := st.LockOwners(ctx, ana.ID)
		for i, want := range []struct {
			id         id.ID
			role       workflow.Role
			passphrase bool
		}{{nell.ID, workflow.RoleOwner, false}, {odo.ID, workflow.RoleOwner, true}, {ana.ID, workflow.RoleHelper, false}} {
			if len(owners) != 3 || owners[i].Person.ID != want.id || owners[i].Person.Role != want.role || owners[i].HasPassphrase != want.passphrase {
				t.Fatalf("owners = %+v", owners)
			}
		}
		return err
	})
}

func TestStore_ClaimKey(t *testing.T) {
	db := setup(t)
	sum := bytes.Repeat([]byte{7}, 32)
	for _, want := range [][]byte{sum, bytes.Repeat([]byte{8}, 32), nil} {
		must(t, db, func(ctx context.Context, st store.Store) error {
			return errors.Join(st.LockClaim(ctx), st.SetClaimKey(ctx, want, doorOpens))
		})
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.ClaimKey(ctx)
			if !bytes.Equal(got, want) {
				t.Errorf("ClaimKey = %v, want %v", got, want)
			}
			return err
		})
	}
}
