package server

import (
	"context"

	"tackfree/pkg/access"
	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/secret"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

var (
	errHasOwner    = fault.New(fault.Precondition, "SHOP_HAS_OWNER", "The shop has an owner already. Ask them to make you one, or sign in.")
	errClaimKey    = fault.New(fault.Unauthenticated, "CLAIM_KEY_WRONG", "That is not the key that the shop showed when it was last opened. Open it again, and use the new one.")
	errElsewhere   = fault.New(fault.Denied, "NOT_ON_THIS_MACHINE", "This can be done on the shop's own machine only, by the user who runs the shop there.")
	errNameMissing = fault.New(fault.Invalid, "INVALID_FIELD", "The name must say something.").At("display_name")
)

// ClaimShop implements SignInService.
func (s *Server) ClaimShop(ctx context.Context, r *workflowv1.ClaimShopRequest) (*workflowv1.ClaimShopResponse, error) {
	if !s.Key.Signs() {
		return nil, access.NoKey()
	}
	name := wire.Name(r.DisplayName)
	if name == "" {
		return nil, errNameMissing
	}
	if err := workflow.CheckPassphrase(r.Passphrase, wire.NameKey(name)); err != nil {
		return nil, err
	}
	// Before the hash, so that nobody without the key has it made; and once more after it.
	if err := s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error { return mayClaim(ctx, store.New(tx), r.Key) }); err != nil {
		return nil, err
	}
	hash, err := s.Secrets.Hash(ctx, r.Passphrase)
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ClaimShopResponse{}
	err = s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) (err error) {
		st := store.New(tx)
		if err := mayClaim(ctx, st, r.Key); err != nil {
			return err
		}
		person, err := s.personNamed(ctx, tx, name)
		if err != nil {
			return err
		}
		if err := s.install(ctx, st, person, hash); err != nil {
			return err
		}
		if err := st.SetClaimKey(ctx, nil, s.Shop.Now()); err != nil {
			return err
		}
		who, err := st.LockSignIn(ctx, person)
		if err != nil {
			return err
		}
		out.Admission, err = s.welcome(ctx, st, who, r.Device)
		return err
	})
	return out, err
}

// mayClaim refuses to give the shop to whoever brings a key; on its own machine none is asked for. Faults:
// SHOP_HAS_OWNER, CLAIM_KEY_WRONG.
func mayClaim(ctx context.Context, st store.Store, key string) error {
	if err := st.LockClaim(ctx); err != nil {
		return err
	}
	if has, err := st.HasOwner(ctx); err != nil || has {
		return orElse(err, errHasOwner)
	}
	sum, err := st.ClaimKey(ctx)
	if err != nil || caller.Of(ctx).Machine {
		return err
	}
	if sum == nil || !secret.Is(key, sum) {
		return errClaimKey
	}
	return nil
}

func orElse(err error, f *fault.Fault) error {
	if err != nil {
		return err
	}
	return f
}

// personNamed finds somebody by name, or takes them into the shop.
func (s *Server) personNamed(ctx context.Context, tx *pg.Tx, name string) (id.ID, error) {
	st := store.New(tx)
	found, err := st.SignInByName(ctx, wire.NameKey(name))
	if err != nil || found.Person.ID != id.Nil {
		return found.Person.ID, err
	}
	now := s.Shop.Now()
	p := workflow.Person{ID: id.New(), Name: name, Version: 1, Revision: 1}
	if err := st.InsertPerson(ctx, p); err != nil {
		return id.Nil, err
	}
	ctx = caller.With(ctx, caller.Caller{Actor: name}) // they themselves: nobody else is there yet
	return p.ID, s.Log.Append(ctx, tx, outbox.Event{Kind: "person", Aggregate: p.ID, Version: p.Version, OccurredAt: now, Payload: personAdded(p)}, now)
}

// install makes somebody an owner with a passphrase, whatever they were, and ends their sessions.
func (s *Server) install(ctx context.Context, st store.Store, person id.ID, hash string) error {
	now := s.Shop.Now()
	who, err := st.LockSignIn(ctx, person)
	if err != nil {
		return err
	}
	if err := st.SetRole(ctx, person, workflow.RoleOwner); err != nil {
		return err
	}
	if err := st.SetSignIn(ctx, person, workflow.Passphrase, hash, now); err != nil {
		return err
	}
	if _, err := st.DropAttempts(ctx, who.NameKey, now); err != nil {
		return err
	}
	s.Logger.InfoContext(ctx, "an owner was installed", "person", person)
	return st.EndSessionsOf(ctx, person, id.Nil, now)
}

// RenewClaimKey implements SignInService.
func (s *Server) RenewClaimKey(ctx context.Context, _ *workflowv1.RenewClaimKeyRequest) (*workflowv1.RenewClaimKeyResponse, error) {
	if !caller.Of(ctx).Machine {
		return nil, errElsewhere
	}
	out := &workflowv1.RenewClaimKeyResponse{Key: secret.NewKey()}
	err := s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		if err := st.LockClaim(ctx); err != nil {
			return err
		}
		if has, err := st.HasOwner(ctx); err != nil || has {
			return orElse(err, errHasOwner)
		}
		return st.SetClaimKey(ctx, secret.Sum(out.Key), s.Shop.Now())
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// ResetOwner implements SignInService.
func (s *Server) ResetOwner(ctx context.Context, r *workflowv1.ResetOwnerRequest) (*workflowv1.ResetOwnerResponse, error) {
	if !caller.Of(ctx).Machine {
		return nil, errElsewhere
	}
	person, err := id.One("person", r.Person, "people")
	if err != nil {
		return nil, err
	}
	who, err := s.signInOf(ctx, person)
	if err != nil {
		return nil, err
	}
	if err := workflow.CheckPassphrase(r.Passphrase, who.NameKey); err != nil {
		return nil, err
	}
	hash, err := s.Secrets.Hash(ctx, r.Passphrase)
	if err != nil {
		return nil, err
	}
	return &workflowv1.ResetOwnerResponse{}, s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		return s.install(ctx, store.New(tx), person, hash)
	})
}
