package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/store"
)

// GetMix implements MixService.
func (s *Server) GetMix(ctx context.Context, r *materialsv1.GetMixRequest) (*materialsv1.GetMixResponse, error) {
	mix, err := id.One("name", r.Name, "mixes")
	if err != nil {
		return nil, err
	}
	out := &materialsv1.GetMixResponse{}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		m, err := store.New(q).Mix(ctx, mix)
		if err != nil {
			return err
		}
		out.Mix, err = s.encodeMix(ctx, store.New(q), m)
		return err
	})
	return out, err
}

// ListMixes implements MixService.
func (s *Server) ListMixes(ctx context.Context, r *materialsv1.ListMixesRequest) (*materialsv1.ListMixesResponse, error) {
	filter, err := decodeMixFilter(r)
	if err != nil {
		return nil, err
	}
	var before store.EntryKey
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size, out := page.Size(r.PageSize), &materialsv1.ListMixesResponse{}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		if filter.Recipe != id.Nil {
			if _, err := st.Recipe(ctx, filter.Recipe); err != nil {
				return err
			}
		}
		mixes, err := st.Mixes(ctx, filter, before, size)
		if err != nil {
			return err
		}
		out.NextPageToken = page.Next(mixes, size, func(m store.Mix) any { return store.EntryKey{At: m.At, ID: m.ID} })
		for _, m := range mixes {
			encoded, err := s.encodeMix(ctx, st, m)
			if err != nil {
				return err
			}
			out.Mixes = append(out.Mixes, encoded)
		}
		return nil
	})
	return out, err
}

func decodeMixFilter(r *materialsv1.ListMixesRequest) (f store.MixFilter, err error) {
	f.WithLeft = r.WithLeft
	for _, n := range []struct {
		field, name, kind string
		to                *id.ID
	}{{"recipe", r.Recipe, "recipes", &f.Recipe}, {"product", r.Product, "products", &f.Product}, {"piece", r.Piece, "pieces", &f.Piece}} {
		if n.name == "" {
			continue
		}
		if *n.to, err = id.One(n.field, n.name, n.kind); err != nil {
			return f, err
		}
	}
	return f, nil
}

func (s *Server) encodeMix(ctx context.Context, st store.Store, m store.Mix) (*materialsv1.Mix, error) {
	method, _, _, err := st.Method(ctx)
	if err != nil {
		return nil, err
	}
	places, err := st.PlaceWords(ctx, []id.ID{m.Lot.Place})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.Mix{Name: id.Name("mixes", m.ID), Number: m.Number, Recipe: id.Name("recipes", m.Recipe), RecipeName: m.RecipeName,
		Lot: s.encodeLot(m.Product, method, m.Lot, places), ProductName: m.Product.Name, MixTime: wire.ToInstant(m.At), Note: m.Note, Actor: m.Actor,
		Undone: m.Undone, Left: amountOf(m.Product, m.Left)}
	if m.Like != id.Nil {
		out.Like = id.Name("mixes", m.Like)
	}
	for _, p := range m.Parts {
		out.Parts = append(out.Parts, &materialsv1.Mix_Part{Product: id.Name("products", p.Product.ID), ProductName: p.Product.Name,
			Quantity: amountOf(p.Product, p.Quantity), Cost: s.Shop.ToMoney(-p.Posted.Total())})
	}
	for _, u := range m.Uses {
		out.Uses = append(out.Uses, &materialsv1.Mix_Use{Stage: id.Name("pieces", u.To.Piece, "stages", u.To.ID), StageKind: u.To.Kind, Pass: u.To.Pass,
			Quantity: amountOf(m.Product, u.Quantity), Time: wire.ToInstant(u.At)})
	}
	return out, nil
}
