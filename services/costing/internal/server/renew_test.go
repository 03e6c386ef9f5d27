package server_test

import (
	"testing"

	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/costingsvc"
)

// Books that an older program made are made anew by themselves when the service starts, whatever
// was otherwise in them; those of the same program are left alone.
func TestServer_RenewsOutdatedBooks(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Acquisition) == 1_000 })
	again := func(harm string) {
		t.Helper()
		o.Stop()
		o.exec(t, harm)
		o.Service = svctest.Start(t, costingsvc.Name, costingsvc.Run, svctest.Options{Peers: o.peers, URL: o.URL})
		o.costing, o.books = costingv1.NewCostingServiceClient(o.Conn), costingv1.NewBooksServiceClient(o.Conn)
	}
	again(`UPDATE costing.piece SET acquisition = 7; UPDATE costing.made_by SET rules = 'edition 0'`)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Acquisition) == 1_000 })
	o.clean(t)
	// Until edition 2 sales were read as paid in cash, and rules of the shop's own are the same since.
	again(`UPDATE costing.piece SET acquisition = 7; UPDATE costing.made_by SET rules = regexp_replace(rules, '^edition [0-9]+', 'edition 2')`)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Acquisition) == 1_000 })
	o.clean(t)
	again(`UPDATE costing.piece SET acquisition = 7`)
	r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
	if err != nil || r.DifferenceCount == 0 {
		t.Errorf("Verify = %v, %v, want it to see what was harmed and nobody mended", r, err)
	}
}
