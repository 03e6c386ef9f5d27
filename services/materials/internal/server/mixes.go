package server

import (
	"context"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/quantity"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// mixing is what is asked to be mixed.
type mixing struct {
	recipe, like  id.ID
	amount, yield quantity.Quantity // no yield: the amount
	place         string
	at            time.Time
	issuing       issuing // why parts are used though they have expired
	note          string
}

func (s *Server) decodeMixing(r *materialsv1.MakeMixRequest) (m mixing, err error) {
	m.note, m.issuing.reason = wire.Name(r.Note), wire.Name(r.OverrideReason)
	if r.GetLike() != "" {
		m.like, err = id.One("like", r.GetLike(), "mixes")
	} else {
		m.recipe, err = id.One("recipe", r.GetRecipe(), "recipes")
	}
	if err != nil {
		return m, err
	}
	if m.amount, err = wire.Amount("quantity", r.Quantity); err != nil {
		return m, err
	}
	if r.Yield != nil {
		if m.yield, err = wire.Amount("yield", r.Yield); err != nil {
			return m, err
		}
	}
	if r.Place != "" {
		if m.place, err = placeWord("place", r.Place); err != nil {
			return m, err
		}
	}
	m.at, err = s.Shop.Instant("mix_time", r.MixTime)
	return m, err
}

// MakeMix implements MixService. All its products are locked by id.
func (s *Server) MakeMix(ctx context.Context, r *materialsv1.MakeMixRequest) (*materialsv1.MakeMixResponse, error) {
	now := s.Shop.Now()
	asked, err := s.decodeMixing(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.MakeMixResponse, error) {
		by, err := recipeOf(ctx, store.New(tx), asked)
		if err != nil {
			return nil, err
		}
		shelves, err := s.openRecipe(ctx, tx, now, by)
		if err != nil {
			return nil, err
		}
		made, err := s.mix(ctx, tx, shelves, by, asked, r)
		if err != nil {
			return nil, err
		}
		m, recostings, err := s.mixed(ctx, tx, made.ID, valuesInOrder(shelves))
		return &materialsv1.MakeMixResponse{Mix: m, Recostings: recostings}, err
	})
}

// mixed is a mix after all that followed from it, and what that was.
func (s *Server) mixed(ctx context.Context, tx *pg.Tx, mix id.ID, all []*noting) (*materialsv1.Mix, []*materialsv1.Recosting, error) {
	if err := s.cascade(ctx, tx, all...); err != nil {
		return nil, nil, err
	}
	var recostings []*materialsv1.Recosting
	for _, n := range all {
		recostings = append(recostings, s.encodeRecosted(n)...)
	}
	st := store.New(tx)
	m, err := st.Mix(ctx, mix)
	if err != nil {
		return nil, nil, err
	}
	out, err := s.encodeMix(ctx, st, m)
	return out, recostings, err
}

func valuesInOrder[T any](by map[id.ID]T) (all []T) {
	for _, i := range inOrder(by) {
		all = append(all, by[i])
	}
	return all
}

// recipeOf is the recipe asked for, or that by which an earlier mix was really made. Faults:
// RECIPE_NOT_FOUND, MIX_NOT_FOUND.
func recipeOf(ctx context.Context, st store.Store, asked mixing) (store.Recipe, error) {
	if asked.like == id.Nil {
		return st.Recipe(ctx, asked.recipe)
	}
	like, err := st.Mix(ctx, asked.like)
	if err != nil {
		return store.Recipe{}, notFoundAt("like", err)
	}
	if like.Undone {
		return store.Recipe{}, fault.Of(mixUndone).At("like")
	}
	by, err := st.Recipe(ctx, like.Recipe)
	by.Recipe, by.Product = by.Like(like.Parts, like.Product.Unit), like.Product
	return by, err
}

func (s *Server) openRecipe(ctx context.Context, tx *pg.Tx, now time.Time, by store.Recipe) (map[id.ID]*noting, error) {
	shelves := map[id.ID]*noting{by.Product.ID: nil}
	for _, p := range by.Parts {
		shelves[p.Product.ID] = nil
	}
	for _, product := range inOrder(shelves) {
		n, err := s.open(ctx, tx, now, product, nil)
		if err != nil {
			return nil, err
		}
		shelves[product] = n
	}
	return shelves, nil
}

// mix notes what goes into a mix and what comes of it.
func (s *Server) mix(ctx context.Context, tx *pg.Tx, shelves map[id.ID]*noting, by store.Recipe, asked mixing, r *materialsv1.MakeMixRequest) (materials.Mix, error) {
	m := materials.Mix{ID: id.New(), Recipe: by.ID, Like: asked.like, Product: by.Product.ID, At: after(shelves, asked.at, r.MixTime == nil),
		Note: asked.note, Actor: caller.Of(ctx).Actor}
	whole, amounts, err := measured(by, asked, &m)
	if err != nil {
		return m, err
	}
	var parts []materials.Posted
	for n, p := range by.Parts {
		on := shelves[p.Product.ID]
		if err := s.note(ctx, tx, on, m.Into(asked.issuing.entry(on.entry(ctx, m.At, r.MixTime)), amounts[n])); err != nil {
			return m, ofPart(err, p.Product.Name)
		}
		parts = append(parts, on.shelf.Posted...)
	}
	on := shelves[by.Product.ID]
	e := m.Out(on.entry(ctx, m.At, r.MixTime), by.Keeps, on.shelf.Product, parts)
	if e.Place, err = s.placeOf(ctx, tx, asked.place); err != nil {
		return m, err
	}
	if err := s.note(ctx, tx, on, e); err != nil {
		return m, err
	}
	m.Lot = e.Lot
	if m, err = store.New(tx).InsertMix(ctx, m); err != nil {
		return m, err
	}
	return m, s.Log.Append(ctx, tx, outbox.Event{Kind: "mix", Aggregate: m.ID, Version: 1, OccurredAt: m.At, Payload: s.mixMade(m, by, whole, e, parts)}, on.now)
}

// after is the instant of a mix; where nobody said it, after all that was noted of its products.
func after(shelves map[id.ID]*noting, at time.Time, unsaid bool) time.Time {
	for _, n := range shelves {
		if newest := n.shelf.Product.Newest.At; unsaid && at.Before(newest) {
			at = newest
		}
	}
	return at
}

// measured counts what is asked for, what it takes of each part, and what it yields. Faults:
// UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD.
func measured(by store.Recipe, asked mixing, m *materials.Mix) (whole quantity.Quantity, amounts []decimal.Decimal, err error) {
	unit := by.Product.Unit
	if whole, err = materials.Counted("quantity", asked.amount, unit); err != nil {
		return whole, nil, err
	}
	m.Quantity = whole.Value
	if asked.yield.Positive() {
		yield, err := materials.Counted("yield", asked.yield, unit)
		if err != nil {
			return whole, nil, err
		}
		if m.Quantity = yield.Value; m.Quantity.GreaterThan(whole.Value.Mul(most)) {
			return whole, nil, fault.New(fault.Invalid, "YIELD_ABSURD", "%s is more than a tenth above the %s that went in; check both.", yield, whole).At("yield")
		}
	}
	amounts, err = by.Amounts(whole)
	return whole, amounts, err
}

// most is how much more there may be of a mix than went in: what is dissolved in it takes room.
// Common practice.
var most = decimal.RequireFromString("1.1")

// ofPart says of which part of a mix something is wrong.
func ofPart(err error, product string) error {
	if f := fault.Of(err); f != nil {
		return fault.New(f.Kind, f.Reason, "Of %s: %s", product, f.Text).At("quantity")
	}
	return err
}

func (s *Server) mixMade(m materials.Mix, by store.Recipe, whole quantity.Quantity, e materials.Entry, parts []materials.Posted) *eventsv1.MixMade {
	out := &eventsv1.MixMade{MixId: m.ID.String(), Number: m.Number, RecipeId: by.ID.String(), ProductId: by.Product.ID.String(), ProductName: by.Product.Name,
		LotId: e.Lot.String(), Quantity: wire.ToQuantity(m.Quantity, whole.Unit.Symbol), Cost: s.Shop.ToMoney(e.Cost)}
	for n, p := range parts {
		of := by.Parts[n].Product
		out.Parts = append(out.Parts, &eventsv1.MixMade_Part{EntryId: p.ID.String(), ProductId: of.ID.String(), ProductName: of.Name,
			Quantity: amountOf(of, p.Quantity), Cost: s.Shop.ToMoney(-p.Total())})
	}
	return out
}
