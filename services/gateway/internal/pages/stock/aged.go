package stock

import (
	"strings"
	"time"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/typed"
)

func agedOf(lots []*materialsv1.ExpiringLot, places map[string]string, zone *time.Location) (out []aged) {
	for _, l := range lots {
		product, _, _ := strings.Cut(l.Lot, "/lots/")
		it := aged{ID: idOf(product), Place: places[l.Place], ExpiringLot: l, Last: typed.Noon(l.LastDate, zone)}
		if it.Last.IsZero() && l.ExpireTime != nil {
			it.Last = l.ExpireTime.AsTime()
		}
		out = append(out, it)
	}
	return out
}
