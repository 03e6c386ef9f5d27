package server_test

import (
	"testing"

	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// Helpers are told that a piece is sold and when, so that nobody works on it; for how much and to whom is told to leads
// and owners.
func TestServer_TellsHelpersWhatIsSold(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	b.list(t, piece)
	r := sell(piece)
	r.Buyer = "R. Okafor"
	if _, err := b.SellPiece(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
	edge, log := salesv1.NewSalesServiceClient(b.Edge), eventsv1.NewEventLogServiceClient(b.Edge)
	for role, money := range map[typev1.Role]bool{typev1.Role_ROLE_HELPER: false, typev1.Role_ROLE_LEAD: true, typev1.Role_ROLE_OWNER: true} {
		one, err := edge.GetListing(b.As(t, role), &salesv1.GetListingRequest{Name: b.get(t, piece).Name})
		if err != nil {
			t.Fatal(err)
		}
		all, err := edge.ListListings(b.As(t, role), &salesv1.ListListingsRequest{Pieces: []string{piece}})
		if err != nil || len(all.Listings) != 1 {
			t.Fatalf("ListListings as %v = %v, %v", role, all, err)
		}
		for _, l := range []*salesv1.Listing{one.Listing, all.Listings[0]} {
			s := l.Sales[0]
			if l.State != salesv1.Listing_STATE_SOLD || s.SaleTime == nil || s.Channel == "" {
				t.Errorf("%v is told %v", role, l)
			}
			if (l.AskingPrice != nil) != money || (s.Price != nil) != money || (s.Fee != nil) != money || (s.Buyer != "") != money {
				t.Errorf("%v is told %v; money: want %v", role, l, money)
			}
		}
		told, err := log.ListPieceEvents(b.As(t, role), &eventsv1.ListPieceEventsRequest{Piece: piece})
		if err != nil || len(told.GetEvents()) != 2 {
			t.Fatalf("ListPieceEvents as %v = %v, %v", role, told, err)
		}
		if listed, sold := told.Events[0].GetPieceListed(), told.Events[1].GetPieceSold(); (listed.AskingPrice != nil) != money || (sold.Price != nil) != money || (sold.Buyer != "") != money {
			t.Errorf("%v is told %v; money: want %v", role, told.Events, money)
		}
	}
}
