package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// InsertSession writes a session with what is kept of its secret. Fault at commit:
// TOKEN_LABEL_TAKEN.
func (s Store) InsertSession(ctx context.Context, n workflow.Session, sum []byte) error {
	row := storedb.InsertSessionParams{ID: n.ID, PersonID: nullable(n.Person.ID), SecretSha: sum, Label: n.Label, ReadOnly: n.ReadOnly,
		Methods: notNil(n.Methods), Actor: n.Actor, CreatedAt: n.Created, UsedAt: orNull(n.Used), ExpiresAt: n.Expires}
	if n.Program() {
		key, role := wire.NameKey(n.Label), string(n.Role)
		row.LabelKey, row.Role = &key, &role
	}
	return s.q.InsertSession(ctx, row)
}

// LockSession locks and reads the session of a secret. Fault: SESSION_ENDED.
func (s Store) LockSession(ctx context.Context, sum []byte) (workflow.Session, error) {
	row, err := s.q.LockSession(ctx, sum)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Session{}, workflow.ErrEnded
	}
	return workflow.Session{ID: row.ID, Label: row.Label, Role: workflow.Role(row.Role), ReadOnly: row.ReadOnly, Methods: row.Methods, Expires: row.ExpiresAt, Ended: row.EndedAt != nil,
		Person: workflow.Person{ID: row.PersonID.UUID, Name: row.DisplayName, ActiveFrom: orZero(row.ActiveFrom), ActiveTo: orZero(row.ActiveTo)}}, err
}

// UseSession writes when a session was last used and when it ends.
func (s Store) UseSession(ctx context.Context, n workflow.Session) error {
	return s.q.UseSession(ctx, storedb.UseSessionParams{ID: n.ID, UsedAt: &n.Used, ExpiresAt: n.Expires})
}

// Session locks and reads whose session it is, and whether it has ended. Faults: SESSION_NOT_FOUND, and
// for a program's TOKEN_NOT_FOUND.
func (s Store) Session(ctx context.Context, session id.ID, program bool) (person id.ID, err error) {
	row, err := s.q.GetSession(ctx, session)
	if errors.Is(err, pgx.ErrNoRows) || err == nil && (row.EndedAt != nil || row.PersonID.Valid == program) {
		if program {
			return id.Nil, fault.New(fault.NotFound, "TOKEN_NOT_FOUND", "No such program is let in; look at the list of tokens.").At("token")
		}
		return id.Nil, fault.New(fault.NotFound, "SESSION_NOT_FOUND", "There is no such session, or it has ended; look at the list of sessions.").At("session")
	}
	return row.PersonID.UUID, err
}

// EndSession ends a session or a program's access.
func (s Store) EndSession(ctx context.Context, session id.ID, now time.Time) error {
	return s.q.EndSession(ctx, storedb.EndSessionParams{ID: session, EndedAt: &now})
}

// EndSessionBySecret ends the session of a secret, if it has not ended.
func (s Store) EndSessionBySecret(ctx context.Context, sum []byte, now time.Time) error {
	return s.q.EndSessionBySecret(ctx, storedb.EndSessionBySecretParams{SecretSha: sum, EndedAt: &now})
}

// EndSessionsOf ends all of somebody's sessions but one.
func (s Store) EndSessionsOf(ctx context.Context, person, but id.ID, now time.Time) error {
	return s.q.EndSessionsOf(ctx, storedb.EndSessionsOfParams{PersonID: person, But: but, EndedAt: &now})
}

// ForgetSessions takes away sessions of people that ended before an instant.
func (s Store) ForgetSessions(ctx context.Context, before time.Time) error {
	return s.q.ForgetSessions(ctx, before)
}

// Sessions reads up to limit sessions that have not ended, of somebody or of all, the newest first, from
// before an id.
func (s Store) Sessions(ctx context.Context, person, before id.ID, limit int32, now time.Time) ([]workflow.Session, error) {
	rows, err := s.q.ListSessions(ctx, storedb.ListSessionsParams{Now: now, Person: nullable(person), Before: nullable(before), PageLimit: limit})
	out := make([]workflow.Session, len(rows))
	for i, row := range rows {
		out[i] = workflow.Session{ID: row.ID, Person: workflow.Person{ID: row.PersonID.UUID, Name: row.DisplayName}, Label: row.Label,
			Created: row.CreatedAt, Used: orZero(row.UsedAt), Expires: row.ExpiresAt}
	}
	return out, err
}

// Tokens reads up to limit programs that are let in, the newest first, from before an id.
func (s Store) Tokens(ctx context.Context, before id.ID, limit int32, now time.Time) ([]workflow.Session, error) {
	rows, err := s.q.ListTokens(ctx, storedb.ListTokensParams{Now: now, Before: nullable(before), PageLimit: limit})
	out := make([]workflow.Session, len(rows))
	for i, row := range rows {
		out[i] = workflow.Session{ID: row.ID, Label: row.Label, Role: workflow.Role(orZero(row.Role)), ReadOnly: row.ReadOnly, Methods: row.Methods, Actor: row.Actor,
			Created: row.CreatedAt, Used: orZero(row.UsedAt), Expires: row.ExpiresAt}
	}
	return out, err
}

// EndExpiredTokens frees the labels of programs that may no longer come in.
func (s Store) EndExpiredTokens(ctx context.Context, now time.Time) error {
	return s.q.EndExpiredTokens(ctx, now)
}
