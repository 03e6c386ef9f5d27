package commissioned

import (
	"google.golang.org/protobuf/proto"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// SaleOf is the sale by which a commission was invoiced, of all that a listing has: one of its price, later than it was
// begun, from which the piece did not come back; the last of them, and nil where there is none. A piece may have several
// commissions, and each its sale.
func SaleOf(c *intakev1.CommissionOrder, l *salesv1.Listing) (of *salesv1.Sale) {
	for _, s := range l.GetSales() {
		if !s.PieceReturned && proto.Equal(s.Price, c.GetInvoice().GetPrice()) && s.SaleTime.AsTime().After(c.BeginTime.AsTime()) {
			of = s
		}
	}
	return of
}
