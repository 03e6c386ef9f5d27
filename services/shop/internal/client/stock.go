package client

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// AllLots lists the lots of a product, the oldest first; used-up ones only if they are asked for.
func (s *Shop) AllLots(ctx context.Context, product string, usedUp bool) ([]*materialsv1.Lot, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Lot, string, error) {
		r, err := s.Materials.ListLots(ctx, &materialsv1.ListLotsRequest{Product: product, ShowUsedUp: usedUp, PageSize: page, PageToken: token})
		return r.GetLots(), r.GetNextPageToken(), err
	})
}

// Lot finds a lot of a product by its id, as lists show it, by the maker's number, or as 'mix 12'
// by the number on the lid.
func (s *Shop) Lot(ctx context.Context, p *materialsv1.Product, ref string) (*materialsv1.Lot, error) {
	all, err := s.AllLots(ctx, p.Name, true)
	if err != nil {
		return nil, err
	}
	if number, mixed := strings.CutPrefix(strings.ToLower(ref), "mix "); mixed {
		m, err := s.Mix(ctx, number)
		if err != nil {
			return nil, err
		}
		ref = m.GetLot().GetName()
	}
	return lotOf(p, all, ref)
}

// lotOf finds one of a product's lots by its id or the maker's number.
func lotOf(p *materialsv1.Product, all []*materialsv1.Lot, ref string) (*materialsv1.Lot, error) {
	var coded []*materialsv1.Lot
	for _, l := range all {
		switch {
		case named(l.Name, ref):
			return l, nil
		case l.BatchCode != "" && alike(l.BatchCode, ref):
			coded = append(coded, l)
		}
	}
	switch len(coded) {
	case 0:
		return nil, fmt.Errorf("there is no lot %s of %s; `shop stock lots %q` lists them", ref, p.DisplayName, p.DisplayName)
	case 1:
		return coded[0], nil
	}
	return nil, fmt.Errorf("several lots of %s have the number %s; say which by its id, which `shop stock lots %q` shows", p.DisplayName, ref, p.DisplayName)
}

// OnlyLot finds the one lot of a product that there is something left of and that fits; or the
// only one there is, of which the shop says better why it does not.
func (s *Shop) OnlyLot(ctx context.Context, p *materialsv1.Product, fits func(*materialsv1.Lot) bool) (*materialsv1.Lot, error) {
	all, err := s.AllLots(ctx, p.Name, false)
	if err != nil {
		return nil, err
	}
	found := slices.DeleteFunc(slices.Clone(all), func(l *materialsv1.Lot) bool { return !fits(l) })
	if len(found) == 0 {
		found = all
	}
	switch len(found) {
	case 0:
		return nil, fmt.Errorf("there is no lot of %s with something left; `shop stock lots %q --all` lists those there were", p.DisplayName, p.DisplayName)
	case 1:
		return found[0], nil
	}
	return nil, fmt.Errorf("there are %d lots of %s; say which with --lot, as `shop stock lots %q` shows them", len(found), p.DisplayName, p.DisplayName)
}

// Entry finds what was written down of stock by its id, as the history shows it, or by as much of
// its beginning as no other has. Of a whole resource name nobody is asked, and nothing else is told.
func (s *Shop) Entry(ctx context.Context, ref string) (*materialsv1.Movement, error) {
	if strings.Contains(ref, "/") {
		return &materialsv1.Movement{Name: ref}, nil
	}
	all, err := s.AllMovements(ctx, &materialsv1.ListMovementsRequest{})
	if err != nil {
		return nil, err
	}
	var found []*materialsv1.Movement
	for _, m := range all {
		if id := m.Name[strings.LastIndex(m.Name, "/")+1:]; ref != "" && strings.HasPrefix(id, strings.ToLower(ref)) {
			found = append(found, m)
		}
	}
	switch len(found) {
	case 0:
		return nil, fmt.Errorf("there is no entry %q; `shop stock history` lists them", ref)
	case 1:
		return found[0], nil
	}
	return nil, fmt.Errorf("the ids of %d entries begin with %s; say more of it, as `shop stock history` shows it", len(found), ref)
}

// AllMovements lists what came and went, newest first, of what a filter says.
func (s *Shop) AllMovements(ctx context.Context, filter *materialsv1.ListMovementsRequest) ([]*materialsv1.Movement, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Movement, string, error) {
		filter.PageSize, filter.PageToken = page, token
		r, err := s.Stock.ListMovements(ctx, filter)
		return r.GetMovements(), r.GetNextPageToken(), err
	})
}

// AllSuppliers lists whom the shop buys from; those where nothing more is bought only if they are
// asked for.
func (s *Shop) AllSuppliers(ctx context.Context, retired bool) ([]*materialsv1.Supplier, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Supplier, string, error) {
		r, err := s.Suppliers.ListSuppliers(ctx, &materialsv1.ListSuppliersRequest{ShowRetired: retired, PageSize: page, PageToken: token})
		return r.GetSuppliers(), r.GetNextPageToken(), err
	})
}

// Supplier finds a supplier by display name, however it is typed, or by id.
func (s *Shop) Supplier(ctx context.Context, ref string) (*materialsv1.Supplier, error) {
	all, err := s.AllSuppliers(ctx, true)
	if err != nil {
		return nil, err
	}
	return called(all, ref, "supplier", (*materialsv1.Supplier).GetDisplayName)
}

// AllRecipes lists the recipes of mixes.
func (s *Shop) AllRecipes(ctx context.Context) ([]*materialsv1.Recipe, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Recipe, string, error) {
		r, err := s.Mixes.ListRecipes(ctx, &materialsv1.ListRecipesRequest{PageSize: page, PageToken: token})
		return r.GetRecipes(), r.GetNextPageToken(), err
	})
}

// Recipe finds a recipe by display name, however it is typed, or by id.
func (s *Shop) Recipe(ctx context.Context, ref string) (*materialsv1.Recipe, error) {
	all, err := s.AllRecipes(ctx)
	if err != nil {
		return nil, err
	}
	return called(all, ref, "recipe", (*materialsv1.Recipe).GetDisplayName)
}

// AllEquipment lists what runs while stages are done, and what runs no more.
func (s *Shop) AllEquipment(ctx context.Context) ([]*materialsv1.Equipment, error) {
	r, err := s.Equipment.ListEquipment(ctx, &materialsv1.ListEquipmentRequest{ShowRetired: true})
	var all []*materialsv1.Equipment
	for _, l := range r.GetLines() {
		all = append(all, l.Equipment)
	}
	return all, err
}

// OneEquipment finds equipment by display name, however it is typed, or by id.
func (s *Shop) OneEquipment(ctx context.Context, ref string) (*materialsv1.Equipment, error) {
	all, err := s.AllEquipment(ctx)
	if err != nil {
		return nil, err
	}
	return called(all, ref, "equipment", (*materialsv1.Equipment).GetDisplayName)
}

// called finds the one with a resource name, or that people call so.
func called[T interface{ GetName() string }](all []T, ref, kind string, name func(T) string) (none T, err error) {
	var known []string
	for _, one := range all {
		if named(one.GetName(), ref) || alike(name(one), ref) {
			return one, nil
		}
		known = append(known, name(one))
	}
	return none, fmt.Errorf("no %s is called %q; there are: %s", kind, ref, list(known))
}

// Place finds where lots stand by its word or what people call it, however it is typed.
func (s *Shop) Place(ctx context.Context, ref string) (*materialsv1.Place, error) {
	r, err := s.Storage.ListPlaces(ctx, &materialsv1.ListPlacesRequest{ShowRetired: true})
	if err != nil {
		return nil, err
	}
	var known []string
	for _, p := range r.Places {
		word := strings.TrimPrefix(p.Name, "places/")
		if p.Name == ref || alike(word, ref) || alike(p.DisplayName, ref) {
			return p, nil
		}
		if !p.Retired {
			known = append(known, word)
		}
	}
	return nil, fmt.Errorf("there is no place %q; there are: %s", ref, list(known))
}

// Order finds an order by its number or id.
func (s *Shop) Order(ctx context.Context, ref string) (*materialsv1.Order, error) {
	return first(ctx, func(ctx context.Context, token string) ([]*materialsv1.Order, string, error) {
		r, err := s.Orders.ListOrders(ctx, &materialsv1.ListOrdersRequest{PageSize: page, PageToken: token})
		return r.GetOrders(), r.GetNextPageToken(), err
	}, func(o *materialsv1.Order) bool { return numbered(o, ref) }, fmt.Errorf("there is no order %s; `shop stock orders list` lists them", ref))
}

// Mix finds a mix by the number on its lid or by its id.
func (s *Shop) Mix(ctx context.Context, ref string) (*materialsv1.Mix, error) {
	ref = strings.TrimSpace(ref)
	return first(ctx, func(ctx context.Context, token string) ([]*materialsv1.Mix, string, error) {
		r, err := s.Mixes.ListMixes(ctx, &materialsv1.ListMixesRequest{PageSize: page, PageToken: token})
		return r.GetMixes(), r.GetNextPageToken(), err
	}, func(m *materialsv1.Mix) bool { return numbered(m, ref) }, fmt.Errorf("there is no mix %s; `shop mix list` lists them", ref))
}

// numbered reports whether a reference is the number of something, or its name.
func numbered(m interface {
	GetName() string
	GetNumber() int64
}, ref string) bool {
	return named(m.GetName(), ref) || strconv.FormatInt(m.GetNumber(), 10) == ref
}

// first reads pages until one has what fits.
func first[T any](ctx context.Context, pages func(ctx context.Context, token string) ([]T, string, error), fits func(T) bool, none error) (found T, err error) {
	for token := ""; ; {
		some, next, err := pages(ctx, token)
		if err != nil {
			return found, err
		}
		for _, one := range some {
			if fits(one) {
				return one, nil
			}
		}
		if token = next; token == "" {
			return found, none
		}
	}
}
