package piece

import (
	"errors"
	"path"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/web"
)

// orderedBy is the commission that the piece is worked on for, the latest, as far as the reader is told of it.
type orderedBy struct {
	Address string // empty: there is none, or it is not for them
	Number  int32
}

func loadOrdered(a *web.Asked, p *intakev1.Piece) (it orderedBy, err error) {
	if p.GetCommission() == nil || !a.User.Leads() {
		return it, nil
	}
	r, err := a.Kit.Suite.Commissions.ListCommissions(a.Context(), &intakev1.ListCommissionsRequest{Piece: p.Name, PageSize: 1})
	if errors.Is(err, fault.Denied) || errors.Is(err, fault.Unavailable) {
		return it, nil
	}
	if err != nil || len(r.Commissions) == 0 {
		return it, err
	}
	return orderedBy{"/commissions/" + path.Base(r.Commissions[0].Name), r.Commissions[0].Number}, nil
}
