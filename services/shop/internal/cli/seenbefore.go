package cli

import (
	"fmt"
	"strings"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

// printSeenBefore says what was noted of a piece before it was bought. Who does not buy is not told.
func printSeenBefore(e *env, shop *client.Shop, p *intakev1.Piece) error {
	if p.Prospect == "" {
		return nil
	}
	r, err := shop.Prospects.GetProspect(e.ctx, &intakev1.GetProspectRequest{Name: p.Prospect})
	if f := fault.Of(err); f != nil && f.Kind == fault.Denied {
		return nil
	}
	if err != nil {
		return err
	}
	s, a := r.Prospect.GetSighting(), r.Prospect.GetAdvice()
	ticked := append(append([]string{}, s.GetDefects()...), "old coating: "+oldCoating(s), "to become: "+s.GetLook())
	hours := a.GetHours()
	_, err = fmt.Fprintf(e.out, "Seen before it was bought, as prospect %d: %s.\nAdvised then: %s hours (%s to %s), sells for %s, most to pay %s.\n\n", r.Prospect.GetNumber(), strings.Join(ticked, ", "),
		decimals(hours.GetLikely()), decimals(hours.GetLow()), decimals(hours.GetHigh()), report.Money(a.GetSalePrice().GetLikely()), report.Money(atLeastNothing(a.GetMostToPay())))
	return err
}
