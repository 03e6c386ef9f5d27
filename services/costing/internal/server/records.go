package server

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/store"
)

// now is the shop's time as the database keeps it.
func (s *Server) now() time.Time { return s.Shop.Now().UTC().Truncate(time.Microsecond) }

// asked is what every request for a list says.
type asked interface {
	GetPageSize() int32
	GetPageToken() string
}

// records reads a page of costing's own records, which are listed by their ids, and the token of the next.
func records[T any](ctx context.Context, s *Server, r asked, idOf func(T) id.ID, list func(st store.Store, after id.ID, limit int32) ([]T, error)) (all []T, next string, err error) {
	after := id.Nil
	if err := page.Read(r.GetPageToken(), &after); err != nil {
		return nil, "", err
	}
	size := page.Size(r.GetPageSize())
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		all, err = list(store.New(q), after, size)
		return err
	})
	return all, page.Next(all, size, func(t T) any { return idOf(t) }), err
}

// encoded writes each of them.
func encoded[T, M any](all []T, encode func(T) M) (out []M) {
	for _, t := range all {
		out = append(out, encode(t))
	}
	return out
}

// somebody reads whom a request names in its field person; nobody: everybody (id.Nil).
func somebody(name string) (id.ID, error) {
	if name == "" {
		return id.Nil, nil
	}
	return id.One("person", name, "people")
}
