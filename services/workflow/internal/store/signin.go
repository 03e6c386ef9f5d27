package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// HasOwner reports whether somebody can sign in as an owner.
func (s Store) HasOwner(ctx context.Context) (bool, error) { return s.q.HasOwner(ctx) }

// SignInByName reads what somebody of a name signs in with; of a name that nobody has, and of
// somebody without a secret, there is no hash.
func (s Store) SignInByName(ctx context.Context, nameKey string) (workflow.SignIn, error) {
	row, err := s.q.SignInByName(ctx, nameKey)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.SignIn{NameKey: nameKey}, nil
	}
	return fromSignIn(storedb.LockSignInRow(row)), err
}

// LockSignIn locks somebody and reads what they sign in with. Fault: PERSON_NOT_FOUND.
func (s Store) LockSignIn(ctx context.Context, person id.ID) (workflow.SignIn, error) {
	row, err := s.q.LockSignIn(ctx, person)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.SignIn{}, errNoPerson
	}
	return fromSignIn(row), err
}

func fromSignIn(row storedb.LockSignInRow) workflow.SignIn {
	return workflow.SignIn{NameKey: row.NameKey, Kind: workflow.SecretKind(orZero(row.Kind)), Hash: orZero(row.Hash),
		Person: workflow.Person{ID: row.ID, Name: row.DisplayName, Role: workflow.Role(row.Role), ActiveFrom: orZero(row.ActiveFrom), ActiveTo: orZero(row.ActiveTo)}}
}

// SetSignIn writes what somebody signs in with from now on.
func (s Store) SetSignIn(ctx context.Context, person id.ID, kind workflow.SecretKind, hash string, now time.Time) error {
	return s.q.SetSignIn(ctx, storedb.SetSignInParams{PersonID: person, Kind: string(kind), Hash: hash, ChangedAt: now})
}

// DropSignIn takes away what somebody signs in with.
func (s Store) DropSignIn(ctx context.Context, person id.ID) error {
	return s.q.DropSignIn(ctx, person)
}

// LockAttempts locks and reads what was tried under a name.
func (s Store) LockAttempts(ctx context.Context, nameKey string, now time.Time) (workflow.Attempts, error) {
	row, err := s.q.LockAttempts(ctx, storedb.LockAttemptsParams{NameKey: nameKey, TriedAt: now})
	return workflow.Attempts{Failures: row.Failures, LockedUntil: orZero(row.LockedUntil)}, err
}

// SaveAttempts writes what was tried under a name, and forgets what was tried under any long before.
func (s Store) SaveAttempts(ctx context.Context, nameKey string, a workflow.Attempts, forget time.Time) error {
	if err := s.q.SaveAttempts(ctx, storedb.SaveAttemptsParams{NameKey: nameKey, Failures: a.Failures, LockedUntil: orNull(a.LockedUntil)}); err != nil {
		return err
	}
	return s.q.ForgetAttempts(ctx, forget)
}

// DropAttempts forgets what was tried under a name, and reports whether it was locked.
func (s Store) DropAttempts(ctx context.Context, nameKey string, now time.Time) (wasLocked bool, err error) {
	return s.q.DropAttempts(ctx, storedb.DropAttemptsParams{NameKey: nameKey, Now: now})
}

// LockOwners locks all owners and somebody who may become one, in the order of locks.
func (s Store) LockOwners(ctx context.Context, person id.ID) ([]workflow.OwnerInOffice, error) {
	rows, err := s.q.LockOwners(ctx, person)
	owners := make([]workflow.OwnerInOffice, len(rows))
	for i, row := range rows {
		owners[i] = workflow.OwnerInOffice{HasPassphrase: row.HasPassphrase, Person: workflow.Person{ID: row.ID, Name: row.DisplayName, Role: workflow.Role(row.Role),
			ActiveFrom: orZero(row.ActiveFrom), ActiveTo: orZero(row.ActiveTo)}}
	}
	return owners, err
}

// SetRole writes what somebody is from now on.
func (s Store) SetRole(ctx context.Context, person id.ID, role workflow.Role) error {
	return s.q.SetRole(ctx, storedb.SetRoleParams{ID: person, Role: string(role)})
}

// LockClaim lets one at a time claim the shop, or make its key.
func (s Store) LockClaim(ctx context.Context) error { return s.q.LockClaim(ctx) }

// ClaimKey reads what is kept of the key with which the shop can be claimed; nil: it cannot.
func (s Store) ClaimKey(ctx context.Context) ([]byte, error) {
	sum, err := s.q.ClaimKey(ctx)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	return sum, err
}

// SetClaimKey writes what is kept of the key, in place of the one before; nil: it cannot be claimed.
func (s Store) SetClaimKey(ctx context.Context, sum []byte, now time.Time) error {
	if sum == nil {
		return s.q.DropClaimKey(ctx)
	}
	return s.q.SetClaimKey(ctx, storedb.SetClaimKeyParams{Sha: sum, MadeAt: now})
}
