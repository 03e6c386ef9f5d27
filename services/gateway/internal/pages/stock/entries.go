package stock

import (
	"strconv"
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/words"
)

// entry is one that came or went, with the word of what for.
type entry struct {
	*materialsv1.Movement
	Word string
}

// Entries are the newest of what came and went.
func (p *onePage) Entries() (out []entry) {
	for _, m := range p.History {
		out = append(out, entry{m, strings.ReplaceAll(m.Purpose, " ", "_")})
	}
	return out
}

// used is what was taken by one method, with its count as templates take it.
type used struct {
	*materialsv1.Usage
	Stages int
}

// Factor says how much the shop takes for each unit that a data sheet plans, and between what that lies.
func (u used) Factor(v *words.Voice) string {
	write := func(f float64) string { return comma(v, strconv.FormatFloat(f, 'f', 2, 64)) }
	return v.T("product.usage.factor", write(u.UsageFactor), write(u.UsageFactorLow), write(u.UsageFactorHigh))
}

func usedOf(all []*materialsv1.Usage) (out []used) {
	for _, u := range all {
		out = append(out, used{u, int(u.StageCount)})
	}
	return out
}
