package server

import (
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/consume"
	"tackfree/services/costing/internal/store"
)

// sheets is a store whose sheets say also in which weeks their overtime may still change.
func (s *Server) sheets(q pg.Querier) store.Store {
	return store.New(q).In(store.View{Now: s.Shop.Now(), Zone: s.Shop.Zone, Clocks: clocks, Hours: consume.Hours})
}
