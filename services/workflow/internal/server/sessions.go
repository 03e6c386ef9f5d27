package server

import (
	"context"
	"strings"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/secret"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// ListSessions implements SignInService.
func (s *Server) ListSessions(ctx context.Context, r *workflowv1.ListSessionsRequest) (*workflowv1.ListSessionsResponse, error) {
	by := asker(ctx)
	var person, before id.ID
	var err error
	switch {
	case r.Person != "":
		if person, err = id.One("person", r.Person, "people"); err != nil {
			return nil, err
		}
	case by.Role != workflow.RoleOwner:
		person = by.Person
	}
	if err := by.MaySeeSessions(person); err != nil {
		return nil, err
	}
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	sessions, err := s.list(ctx, func(st store.Store, now time.Time) ([]workflow.Session, error) {
		return st.Sessions(ctx, person, before, size, now)
	})
	out := &workflowv1.ListSessionsResponse{NextPageToken: nextSession(sessions, size)}
	for _, n := range sessions {
		out.Sessions = append(out.Sessions, encodeSession(n))
	}
	return out, err
}

func (s *Server) list(ctx context.Context, read func(store.Store, time.Time) ([]workflow.Session, error)) (all []workflow.Session, err error) {
	err = s.DB.View(ctx, func(q pg.Querier) error {
		all, err = read(store.New(q), s.Shop.Now())
		return err
	})
	return all, err
}

func nextSession(all []workflow.Session, size int32) string {
	return page.Next(all, size, func(n workflow.Session) any { return n.ID })
}

// EndSession implements SignInService.
func (s *Server) EndSession(ctx context.Context, r *workflowv1.EndSessionRequest) (*workflowv1.EndSessionResponse, error) {
	session, err := id.One("session", r.Session, "sessions")
	if err != nil {
		return nil, err
	}
	now := s.Shop.Now()
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.EndSessionResponse, error) {
		st := store.New(tx)
		of, err := st.Session(ctx, session, false)
		if err != nil {
			return nil, err
		}
		if err := asker(ctx).MaySeeSessions(of); err != nil {
			return nil, err
		}
		return &workflowv1.EndSessionResponse{}, st.EndSession(ctx, session, now)
	})
}

// CreateToken implements SignInService.
func (s *Server) CreateToken(ctx context.Context, r *workflowv1.CreateTokenRequest) (*workflowv1.CreateTokenResponse, error) {
	now := s.Shop.Now().UTC()
	if err := r.ExpireTime.CheckValid(); err != nil {
		return nil, fault.New(fault.Invalid, "TIME_MALFORMED", "The time when it ends is not an instant.").At("expire_time").Because(err)
	}
	n := workflow.Session{ID: id.New(), Label: wire.Name(r.Label), Role: decodeRole(r.Role), ReadOnly: r.ReadOnly, Methods: r.Methods, Actor: caller.Of(ctx).Actor,
		Created: now, Expires: r.ExpireTime.AsTime()}
	if err := workflow.CheckToken(n.Expires, now); err != nil {
		return nil, err
	}
	key := secret.New("tackfree_")
	err := s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		person, err := st.SignInByName(ctx, wire.NameKey(n.Label))
		if err != nil {
			return err
		}
		if person.Person.ID != id.Nil { // what the program does would be written down as theirs
			return fault.New(fault.Exists, "TOKEN_LABEL_TAKEN", "%s is somebody's name; give the program another label.", strings.TrimSpace(n.Label)).At("label")
		}
		if err := st.EndExpiredTokens(ctx, now); err != nil {
			return err
		}
		return st.InsertSession(ctx, n, secret.Sum(key))
	})
	if err != nil {
		return nil, err
	}
	return &workflowv1.CreateTokenResponse{Token: encodeToken(n), Secret: key}, nil
}

// ListTokens implements SignInService.
func (s *Server) ListTokens(ctx context.Context, r *workflowv1.ListTokensRequest) (*workflowv1.ListTokensResponse, error) {
	var before id.ID
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	tokens, err := s.list(ctx, func(st store.Store, now time.Time) ([]workflow.Session, error) {
		return st.Tokens(ctx, before, size, now)
	})
	out := &workflowv1.ListTokensResponse{NextPageToken: nextSession(tokens, size)}
	for _, n := range tokens {
		out.Tokens = append(out.Tokens, encodeToken(n))
	}
	return out, err
}

// RevokeToken implements SignInService.
func (s *Server) RevokeToken(ctx context.Context, r *workflowv1.RevokeTokenRequest) (*workflowv1.RevokeTokenResponse, error) {
	token, err := id.One("token", r.Token, "tokens")
	if err != nil {
		return nil, err
	}
	now := s.Shop.Now()
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.RevokeTokenResponse, error) {
		st := store.New(tx)
		if _, err := st.Session(ctx, token, true); err != nil {
			return nil, err
		}
		return &workflowv1.RevokeTokenResponse{}, st.EndSession(ctx, token, now)
	})
}
