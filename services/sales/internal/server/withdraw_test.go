package server_test

import (
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func withdraw(piece string) *salesv1.WithdrawListingRequest {
	return &salesv1.WithdrawListingRequest{RequestId: svctest.NewID(), Piece: piece, Reason: "it goes to a show", WithdrawTime: then}
}

func TestServer_WithdrawListing(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	r := list(piece)
	r.OtherChannels = []string{" shop  window"}
	listed, err := b.CreateListing(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "event", &eventsv1.PieceListed{Channel: "market stall", AskingPrice: usd(300), OtherChannels: []string{"shop window"}}, b.Last(t).GetPieceListed())
	w := withdraw(piece)
	w.Etag = listed.Listing.Etag
	resp, err := b.WithdrawListing(svctest.Ctx(t), w)
	if err != nil {
		t.Fatal(err)
	}
	want := &salesv1.Listing{Name: listingOf(piece), Piece: piece, Tag: 1, State: salesv1.Listing_STATE_NOT_LISTED, Etag: `"2"`,
		WithdrawTime: then, WithdrawReason: "it goes to a show"}
	differ(t, "WithdrawListing", want, resp.Listing)
	differ(t, "GetListing", want, b.get(t, piece))
	e := b.lastEvent(t, piece, w.RequestId, 2, then)
	differ(t, "event", &eventsv1.ListingWithdrawn{Channels: []string{"market stall", "shop window"}, AskingPrice: usd(300), Reason: w.Reason}, e.GetListingWithdrawn())
	svctest.Refused(t, b.Service, b.WithdrawListing, withdraw(piece), fault.Precondition, "PIECE_NOT_LISTED")

	relisted := b.list(t, piece)
	if relisted.State != salesv1.Listing_STATE_LISTED || relisted.WithdrawTime != nil || len(relisted.OtherChannels) != 0 {
		t.Errorf("listed again, it is %v", relisted)
	}
	if sold := b.sell(t, piece); sold.Listing.State != salesv1.Listing_STATE_SOLD {
		t.Errorf("sold, it is %v", sold.Listing)
	}
	svctest.Refused(t, b.Service, b.WithdrawListing, withdraw(piece), fault.Precondition, "PIECE_SOLD")
	svctest.Refused(t, b.Service, b.WithdrawListing, withdraw(b.piece()), fault.NotFound, "LISTING_NOT_FOUND")
	stale, other := withdraw(piece), b.piece()
	b.list(t, other)
	stale.Piece, stale.Etag = other, `"9"`
	svctest.Refused(t, b.Service, b.WithdrawListing, stale, fault.Conflict, "ETAG_MISMATCH")
	silent := withdraw(other)
	silent.Reason = ""
	svctest.Refused(t, b.Service, b.WithdrawListing, silent, fault.Invalid, "INVALID_FIELD")
	early := withdraw(other)
	early.WithdrawTime = timestamppb.New(time.Now().Add(24 * time.Hour))
	svctest.Refused(t, b.Service, b.WithdrawListing, early, fault.Invalid, "TIME_IN_FUTURE")
}

func TestServer_ChangeListingChannels(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	b.list(t, piece)
	change := func(add, remove string) *salesv1.ChangeListingChannelsRequest {
		r := &salesv1.ChangeListingChannelsRequest{RequestId: svctest.NewID(), Piece: piece, ChangeTime: then}
		if add != "" {
			r.Add = []string{add}
		}
		if remove != "" {
			r.Remove = []string{remove}
		}
		return r
	}
	r := change(" Web ", "")
	resp, err := b.ChangeListingChannels(svctest.Ctx(t), r)
	if err != nil || resp.Listing.Channel != "market stall" || len(resp.Listing.OtherChannels) != 1 || resp.Listing.OtherChannels[0] != "Web" {
		t.Fatalf("ChangeListingChannels = %v, %v", resp, err)
	}
	differ(t, "GetListing", resp.Listing, b.get(t, piece))
	e := b.lastEvent(t, piece, r.RequestId, 2, then)
	differ(t, "event", &eventsv1.ListingChannelsChanged{Channels: []string{"market stall", "Web"}, Added: []string{"Web"}}, e.GetListingChannelsChanged())

	svctest.Refused(t, b.Service, b.SellPiece, sell(piece), fault.Precondition, "LISTED_ON_SEVERAL_CHANNELS")
	refused := func(r *salesv1.ChangeListingChannelsRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, b.Service, b.ChangeListingChannels, r, kind, reason)
	}
	refused(change("", ""), fault.Invalid, "CHANNELS_UNCHANGED")
	refused(change("web", ""), fault.Invalid, "CHANNEL_LISTED_TWICE")
	refused(change("", "fair"), fault.Precondition, "NOT_ON_CHANNEL")
	both := change("", "web")
	both.Remove = append(both.Remove, "Market stall")
	refused(both, fault.Precondition, "LISTING_NEEDS_CHANNEL")
	stale := change("", "web")
	stale.Etag = `"1"`
	refused(stale, fault.Conflict, "ETAG_MISMATCH")
	unheard := change("fair", "")
	unheard.Piece = b.piece()
	refused(unheard, fault.NotFound, "LISTING_NOT_FOUND")
	if resp, err = b.ChangeListingChannels(svctest.Ctx(t), change("", "market stall")); err != nil || resp.Listing.Channel != "Web" || len(resp.Listing.OtherChannels) != 0 {
		t.Errorf("taken off the first = %v, %v", resp, err)
	}
	if sold := b.sell(t, piece); sold.Sale.Channel != "Web" {
		t.Errorf("sold on %q, want the only one that is left", sold.Sale.Channel)
	}
	refused(change("fair", ""), fault.Precondition, "PIECE_SOLD")
}

// A piece that was withdrawn stood unsold until then, and not longer; listed again it stands anew.
func TestServer_Teaches_Withdrawn(t *testing.T) {
	kaplan := func(withdrawn bool) *salesv1.AdvisePriceResponse {
		a := advises(t)
		for n := range 6 {
			piece := a.own("dresser", "", "", opened)
			a.puts(piece, 300, opened)
			switch {
			case n < 5:
				a.sells(piece, 300, opened.AddDate(0, 0, 10*(n+1)), id.Nil)
			case withdrawn:
				a.tell("sales", piece, opened.AddDate(0, 0, 25), &eventsv1.Envelope{Payload: &eventsv1.Envelope_ListingWithdrawn{ListingWithdrawn: &eventsv1.ListingWithdrawn{}}})
			}
		}
		asked := a.own("dresser", "", "", opened)
		a.hear()
		resp, err := a.AdvisePrice(t.Context(), &salesv1.AdvisePriceRequest{Piece: id.Name("pieces", asked), Guess: guess(200, 400)})
		if err != nil {
			t.Fatal(err)
		}
		return resp
	}
	stands, withdrawn := kaplan(false), kaplan(true)
	if stands.SeenListings != 6 || withdrawn.SeenListings != 6 {
		t.Fatalf("seen are %d and %d listings, want 6", stands.SeenListings, withdrawn.SeenListings)
	}
	// Before the 30th day two of the six were sold and one withdrawn, so three stand: Kaplan and Meier, by hand.
	for i, standing := range []int32{6, 5, 3, 2, 1} {
		if got := withdrawn.Seen[i]; got.Day != int32(10*(i+1)) || got.Standing != standing || got.Sold != 1 {
			t.Errorf("step %d is %v, want %d standing", i, got, standing)
		}
	}
	if last := stands.Seen[4]; last.Standing != 2 || last.Share > 0.9 {
		t.Errorf("of what still stands %v", last)
	}
	if last := withdrawn.Seen[4]; last.Share != 1 {
		t.Errorf("of what was withdrawn %v", last)
	}
}
