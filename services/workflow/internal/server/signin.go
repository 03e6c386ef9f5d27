package server

import (
	"context"
	"time"

	"tackfree/pkg/access"
	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/secret"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

const (
	keepAttempts = 2 * time.Hour       // longer than any lock
	keepSessions = 90 * 24 * time.Hour // that have ended
)

// GetSignInState implements SignInService.
func (s *Server) GetSignInState(ctx context.Context, _ *workflowv1.GetSignInStateRequest) (*workflowv1.GetSignInStateResponse, error) {
	out := &workflowv1.GetSignInStateResponse{HasAccessKey: s.Key.Signs()}
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		out.HasOwner, err = store.New(q).HasOwner(ctx)
		return err
	})
	return out, err
}

// SignIn implements SignInService.
func (s *Server) SignIn(ctx context.Context, r *workflowv1.SignInRequest) (*workflowv1.SignInResponse, error) {
	if !s.Key.Signs() {
		return nil, access.NoKey()
	}
	who, err := s.prove(ctx, wire.NameKey(r.DisplayName), r.Secret)
	if err != nil {
		return nil, err
	}
	out := &workflowv1.SignInResponse{}
	err = s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) (err error) {
		st := store.New(tx)
		now, err := st.LockSignIn(ctx, who.Person.ID)
		if err != nil {
			return err
		}
		if now.Hash != who.Hash { // it was changed at the same moment
			return workflow.ErrWrong
		}
		out.Admission, err = s.welcome(ctx, st, now, r.Device)
		return err
	})
	return out, err
}

// prove checks the secret of whoever has a name. The attempt is counted before the secret is looked at, and
// a name that nobody has is treated as any other, to the time it takes. Faults: SIGN_IN_WRONG,
// SIGN_IN_LOCKED, TOO_MANY_SIGN_INS.
func (s *Server) prove(ctx context.Context, nameKey, typed string) (who workflow.SignIn, err error) {
	leave, err := s.Secrets.Enter(ctx)
	if err != nil {
		return who, err
	}
	defer leave()
	now := s.Shop.Now()
	err = s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		tried, err := st.LockAttempts(ctx, nameKey, now)
		if err != nil {
			return err
		}
		if tried, err = tried.Try(now); err != nil {
			return err
		}
		if who, err = st.SignInByName(ctx, nameKey); err != nil {
			return err
		}
		return st.SaveAttempts(ctx, nameKey, tried, now.Add(-keepAttempts))
	})
	if err != nil {
		return who, err
	}
	if !s.Secrets.Verify(typed, who.Hash) {
		s.Logger.InfoContext(ctx, "a sign-in was refused", "person", who.Person.ID) // never the name that was typed: it may be the secret
		return who, workflow.ErrWrong
	}
	return who, nil
}

// welcome starts a session of somebody who proved who they are. Fault: PERSON_INACTIVE.
func (s *Server) welcome(ctx context.Context, st store.Store, who workflow.SignIn, device string) (*workflowv1.Admission, error) {
	now := s.Shop.Now().UTC()
	if err := who.Here(now.In(s.Shop.Zone)); err != nil {
		return nil, err
	}
	if _, err := st.DropAttempts(ctx, who.NameKey, now); err != nil {
		return nil, err
	}
	if err := st.ForgetSessions(ctx, now.Add(-keepSessions)); err != nil {
		return nil, err
	}
	session := workflow.Session{ID: id.New(), Person: who.Person, Role: who.Person.Role, Label: wire.Name(device), Created: now, Used: now, Expires: who.Person.Role.SessionEnd(now)}
	key := secret.New("")
	if err := st.InsertSession(ctx, session, secret.Sum(key)); err != nil {
		return nil, err
	}
	out, err := s.admit(session)
	if err != nil {
		return nil, err
	}
	out.SessionSecret = key
	return out, nil
}

// RenewAccess implements SignInService.
func (s *Server) RenewAccess(ctx context.Context, r *workflowv1.RenewAccessRequest) (*workflowv1.RenewAccessResponse, error) {
	if !s.Key.Signs() {
		return nil, access.NoKey()
	}
	out := &workflowv1.RenewAccessResponse{}
	err := s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) (err error) {
		st := store.New(tx)
		session, err := st.LockSession(ctx, secret.Sum(r.Secret))
		if err != nil {
			return err
		}
		if session, err = session.Renew(s.Shop.Now().In(s.Shop.Zone)); err != nil {
			return err
		}
		if err := st.UseSession(ctx, session); err != nil {
			return err
		}
		out.Admission, err = s.admit(session)
		return err
	})
	return out, err
}

// SignOut implements SignInService.
func (s *Server) SignOut(ctx context.Context, r *workflowv1.SignOutRequest) (*workflowv1.SignOutResponse, error) {
	return &workflowv1.SignOutResponse{}, s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		return store.New(tx).EndSessionBySecret(ctx, secret.Sum(r.SessionSecret), s.Shop.Now())
	})
}

// asker is who gives the command.
func asker(ctx context.Context) workflow.Asker {
	c := caller.Of(ctx)
	person, err := id.One("person", c.Person, "people")
	if err != nil {
		person = id.Nil // a program, or the shop's own machine
	}
	return workflow.Asker{Person: person, Role: decodeRole(c.Role)}
}

// ownSession is the session by which the command came; Nil: none.
func ownSession(ctx context.Context) id.ID {
	session, err := id.One("session", caller.Of(ctx).Session, "sessions")
	if err != nil {
		return id.Nil
	}
	return session
}
