package server

import (
	"context"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// newSecret is a secret that somebody is given.
type newSecret struct {
	person, old, secret string
	kind                workflow.SecretKind
	may                 func(workflow.SignIn, workflow.Asker) error
	check               func(workflow.SignIn) error
}

// SetPin implements SignInService.
func (s *Server) SetPin(ctx context.Context, r *workflowv1.SetPinRequest) (*workflowv1.SetPinResponse, error) {
	return &workflowv1.SetPinResponse{}, s.setSecret(ctx, newSecret{person: r.Person, old: r.OldSecret, secret: r.Pin, kind: workflow.Pin,
		may: workflow.SignIn.MaySetPin, check: func(workflow.SignIn) error { return workflow.CheckPin(r.Pin) }})
}

// SetPassphrase implements SignInService.
func (s *Server) SetPassphrase(ctx context.Context, r *workflowv1.SetPassphraseRequest) (*workflowv1.SetPassphraseResponse, error) {
	return &workflowv1.SetPassphraseResponse{}, s.setSecret(ctx, newSecret{person: r.Person, old: r.OldSecret, secret: r.Passphrase, kind: workflow.Passphrase,
		may: workflow.SignIn.MaySetPassphrase, check: func(who workflow.SignIn) error { return workflow.CheckPassphrase(r.Passphrase, who.NameKey) }})
}

// setSecret gives somebody a secret. Who changes their own proves the old one first, outside of the
// transaction: hashing takes long.
func (s *Server) setSecret(ctx context.Context, n newSecret) error {
	person, err := id.One("person", n.person, "people")
	if err != nil {
		return err
	}
	by := asker(ctx)
	before, err := s.signInOf(ctx, person)
	if err != nil {
		return err
	}
	if err := n.may(before, by); err != nil {
		return err
	}
	if err := n.check(before); err != nil {
		return err
	}
	if by.Is(person) {
		if before, err = s.prove(ctx, before.NameKey, n.old); err != nil {
			return err
		}
	}
	hash, err := s.Secrets.Hash(ctx, n.secret)
	if err != nil {
		return err
	}
	return s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		return s.replaceSecret(ctx, store.New(tx), n, before, by, hash)
	})
}

// replaceSecret writes a new secret, unless somebody was faster. Faults: CONTENTION, NOT_YOURS, PASSPHRASE_NEEDED.
func (s *Server) replaceSecret(ctx context.Context, st store.Store, n newSecret, before workflow.SignIn, by workflow.Asker, hash string) error {
	now := s.Shop.Now()
	who, err := st.LockSignIn(ctx, before.Person.ID)
	if err != nil {
		return err
	}
	if who.Hash != before.Hash {
		return fault.New(fault.Conflict, "CONTENTION", "What they sign in with was changed at the same moment. Try again.")
	}
	if err := n.may(who, by); err != nil {
		return err
	}
	if err := st.SetSignIn(ctx, who.Person.ID, n.kind, hash, now); err != nil {
		return err
	}
	if _, err := st.DropAttempts(ctx, who.NameKey, now); err != nil {
		return err
	}
	s.Logger.InfoContext(ctx, "a secret was set", "person", who.Person.ID, "kind", string(n.kind))
	return st.EndSessionsOf(ctx, who.Person.ID, ownSession(ctx), now)
}

// signInOf reads what somebody signs in with. Fault: PERSON_NOT_FOUND.
func (s *Server) signInOf(ctx context.Context, person id.ID) (who workflow.SignIn, err error) {
	err = s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		who, err = store.New(tx).LockSignIn(ctx, person)
		return err
	})
	return who, err
}

// SetRole implements SignInService.
func (s *Server) SetRole(ctx context.Context, r *workflowv1.SetRoleRequest) (*workflowv1.SetRoleResponse, error) {
	person, err := id.One("person", r.Person, "people")
	if err != nil {
		return nil, err
	}
	now, to := s.Shop.Now(), decodeRole(r.Role)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.SetRoleResponse, error) {
		st := store.New(tx)
		owners, err := st.LockOwners(ctx, person)
		if err != nil {
			return nil, err
		}
		who, err := st.LockSignIn(ctx, person)
		if err != nil {
			return nil, err
		}
		keepsSecret, err := who.ChangeRole(to, owners, now.In(s.Shop.Zone))
		if err != nil {
			return nil, err
		}
		if !keepsSecret {
			if err := st.DropSignIn(ctx, person); err != nil {
				return nil, err
			}
		}
		if err := st.SetRole(ctx, person, to); err != nil {
			return nil, err
		}
		s.Logger.InfoContext(ctx, "a role was changed", "person", person, "role", string(to))
		return &workflowv1.SetRoleResponse{}, st.EndSessionsOf(ctx, person, ownSession(ctx), now)
	})
}

// UnlockSignIn implements SignInService.
func (s *Server) UnlockSignIn(ctx context.Context, r *workflowv1.UnlockSignInRequest) (*workflowv1.UnlockSignInResponse, error) {
	person, err := id.One("person", r.Person, "people")
	if err != nil {
		return nil, err
	}
	now := s.Shop.Now()
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.UnlockSignInResponse, error) {
		st := store.New(tx)
		who, err := st.LockSignIn(ctx, person)
		if err != nil {
			return nil, err
		}
		if err := who.MayUnlock(asker(ctx)); err != nil {
			return nil, err
		}
		was, err := st.DropAttempts(ctx, who.NameKey, now)
		if err == nil && !was {
			err = fault.New(fault.Precondition, "NOT_LOCKED", "%s is not locked out; they may try again now.", who.Person.Name).At("person")
		}
		return &workflowv1.UnlockSignInResponse{}, err
	})
}
