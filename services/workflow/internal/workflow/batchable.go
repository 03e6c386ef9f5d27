package workflow

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/id"
)

// BatchGroup are stages of different pieces that could be run as one now.
type BatchGroup struct {
	Kind        string
	ProductName string
	Members     []Member // by the tags of their pieces
}

// alikeness is what stages that are run as one have in common.
type alikeness struct {
	kind, productName, station string
	product                    id.ID
}

// Batchable puts together what could be run as one now: ready stages of at least two pieces
// with one kind, one product and one kind of station, that are in no open batch; the largest
// first. Pieces are in the order of their tags.
func Batchable(open []OpenPiece, now time.Time) (groups []BatchGroup) {
	at := map[alikeness]int{}
	for i := range open {
		p := &open[i].Plan
		for _, s := range p.Stages {
			if state, _ := p.State(s, now); state != Ready || s.Batch != id.Nil {
				continue
			}
			like := alikeness{s.Kind, s.ProductName, s.Station, s.Product}
			n, known := at[like]
			if !known {
				n, at[like] = len(groups), len(groups)
				groups = append(groups, BatchGroup{Kind: s.Kind, ProductName: s.ProductName})
			}
			groups[n].Members = append(groups[n].Members, Member{Plan: p, Stage: s.ID})
		}
	}
	groups = slices.DeleteFunc(groups, func(g BatchGroup) bool { return g.Members[0].Plan == g.Members[len(g.Members)-1].Plan })
	slices.SortStableFunc(groups, func(a, b BatchGroup) int {
		return cmp.Or(len(b.Members)-len(a.Members), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.ProductName, b.ProductName))
	})
	return groups
}
