package server_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/salessvc"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// intakeFake knows some pieces, or is away.
type intakeFake struct {
	intakev1.UnimplementedIntakeServiceServer
	mu     sync.Mutex
	pieces map[string]*intakev1.Piece
	away   bool
}

func (f *intakeFake) GetPiece(_ context.Context, r *intakev1.GetPieceRequest) (*intakev1.GetPieceResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.away {
		return nil, fault.New(fault.Unavailable, "DATABASE_UNAVAILABLE", "The database cannot be reached.")
	}
	p := f.pieces[r.Name]
	if p == nil {
		return nil, fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no such piece.").At("piece")
	}
	return &intakev1.GetPieceResponse{Piece: p}, nil
}

// take takes a piece in and returns its name; its tag is the next.
func (f *intakeFake) take(state intakev1.Piece_State) string {
	name := id.Name("pieces", id.New())
	f.set(&intakev1.Piece{Name: name, Tag: int32(len(f.pieces) + 1), State: state, TakenInTime: then,
		Origin: &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{}}})
	return name
}

func (f *intakeFake) set(p *intakev1.Piece) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.pieces[p.Name] = p
}

func (f *intakeFake) goAway(away bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.away = away
}

type bundle struct {
	*svctest.Service
	salesv1.SalesServiceClient
	salesv1.SetServiceClient
	salesv1.PriceAdviceServiceClient
	salesv1.ChannelServiceClient
	salesv1.ListingServiceClient
	salesv1.MarkdownServiceClient
	salesv1.HoldServiceClient
	salesv1.DepositServiceClient
	salesv1.OfferServiceClient
	salesv1.TaxServiceClient
	salesv1.PaymentServiceClient
	salesv1.ReceiptServiceClient
	intake *intakeFake
}

// over makes all clients of a running service.
func over(s *svctest.Service, intake *intakeFake) *bundle {
	return &bundle{s, salesv1.NewSalesServiceClient(s.Conn), salesv1.NewSetServiceClient(s.Conn), salesv1.NewPriceAdviceServiceClient(s.Conn),
		salesv1.NewChannelServiceClient(s.Conn), salesv1.NewListingServiceClient(s.Conn), salesv1.NewMarkdownServiceClient(s.Conn),
		salesv1.NewHoldServiceClient(s.Conn), salesv1.NewDepositServiceClient(s.Conn), salesv1.NewOfferServiceClient(s.Conn),
		salesv1.NewTaxServiceClient(s.Conn), salesv1.NewPaymentServiceClient(s.Conn), salesv1.NewReceiptServiceClient(s.Conn), intake}
}

func setup(t *testing.T) *bundle {
	t.Helper()
	intake := &intakeFake{pieces: map[string]*intakev1.Piece{}}
	peer := svctest.Fake(t, func(r grpc.ServiceRegistrar) { intakev1.RegisterIntakeServiceServer(r, intake) })
	s := svctest.Start(t, salessvc.Name, salessvc.Run, svctest.Options{SignIn: true, Peers: map[string]grpc.ClientConnInterface{"intake": peer}})
	return over(s, intake)
}

// piece takes a stock piece in.
func (b *bundle) piece() string { return b.intake.take(intakev1.Piece_STATE_IN_HAND) }

// commission takes a client's own piece in.
func (b *bundle) commission() string {
	name := b.piece()
	b.intake.set(&intakev1.Piece{Name: name, Tag: 70, State: intakev1.Piece_STATE_IN_HAND,
		Origin: &intakev1.Piece_Commission{Commission: &intakev1.Commission{Client: "Ana"}}})
	return name
}

func usd(units int64) *money.Money { return &money.Money{CurrencyCode: "USD", Units: units} }

// then is an instant in the shop's past.
var then = timestamppb.New(time.Date(2026, 3, 2, 15, 0, 0, 0, time.UTC))

func list(piece string) *salesv1.CreateListingRequest {
	return &salesv1.CreateListingRequest{
		RequestId: svctest.NewID(), Piece: piece, Channel: "market stall", AskingPrice: usd(300), ListTime: then}
}

func (b *bundle) list(t *testing.T, piece string) *salesv1.Listing {
	t.Helper()
	resp, err := b.CreateListing(svctest.Ctx(t), list(piece))
	if err != nil {
		t.Fatal(err)
	}
	return resp.Listing
}

// listingOf gives the name of a piece's listing.
func listingOf(piece string) string { return "listings" + piece[len("pieces"):] }

func (b *bundle) get(t *testing.T, piece string) *salesv1.Listing {
	t.Helper()
	resp, err := b.GetListing(t.Context(), &salesv1.GetListingRequest{Name: listingOf(piece)})
	if err != nil {
		t.Fatal(err)
	}
	return resp.Listing
}

func differ(t *testing.T, what string, want, got proto.Message, opts ...cmp.Option) {
	t.Helper()
	if diff := cmp.Diff(want, got, append(opts, protocmp.Transform())...); diff != "" {
		t.Errorf("%s (-want +got):\n%s", what, diff)
	}
}

// lastEvent checks the envelope of the newest event and returns it.
func (b *bundle) lastEvent(t *testing.T, piece, request string, version int64, at *timestamppb.Timestamp) *eventsv1.Envelope {
	t.Helper()
	e := b.Last(t)
	if e.Producer != "sales" || e.AggregateKind != "listing" || "pieces/"+e.AggregateId != piece || "pieces/"+e.PieceId != piece ||
		e.Version != version || e.Actor != svctest.Actor || e.RequestId != request || e.Epoch == "" || !proto.Equal(e.OccurredAt, at) {
		t.Errorf("envelope = %v, want version %d of %s at %v", e, version, piece, at.AsTime())
	}
	return e
}

// fields checks that a refusal of a request as such says where it is wrong.
func fields(t *testing.T, f *fault.Fault, path string) {
	t.Helper()
	if len(f.Fields) == 0 || f.Fields[0].Path != path {
		t.Errorf("%s is about fields %+v, want %s", f.Reason, f.Fields, path)
	}
}

func TestServer_GetListing_Refuses(t *testing.T) {
	b := setup(t)
	get := func(name string) *salesv1.GetListingRequest { return &salesv1.GetListingRequest{Name: name} }
	svctest.Refused(t, b.Service, b.GetListing, get(listingOf(b.piece())), fault.NotFound, "LISTING_NOT_FOUND")
	svctest.Refused(t, b.Service, b.GetListing, get(b.piece()), fault.Invalid, "INVALID_NAME")
	svctest.Refused(t, b.Service, b.GetListing, get(""), fault.Invalid, "INVALID_NAME")
}

func TestServer_ListListings(t *testing.T) {
	b := setup(t)
	pieces := []string{b.piece(), b.piece(), b.piece(), b.piece(), b.piece()}
	for _, n := range []int{4, 1, 0, 3, 2} { // in no order of tags
		b.list(t, pieces[n])
	}
	b.sell(t, pieces[1])
	var got []*salesv1.Listing
	r := &salesv1.ListListingsRequest{PageSize: 2}
	for pages := 0; pages == 0 || r.PageToken != ""; pages++ {
		resp, err := b.ListListings(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		if pages > 2 {
			t.Fatal("more than three pages")
		}
		got, r.PageToken = append(got, resp.Listings...), resp.NextPageToken
	}
	if len(got) != len(pieces) {
		t.Fatalf("%d listings, want %d", len(got), len(pieces))
	}
	for n, piece := range pieces {
		differ(t, "listing of the list", b.get(t, piece), got[n])
	}
	some, err := b.ListListings(t.Context(), &salesv1.ListListingsRequest{Pieces: []string{pieces[3], pieces[1], id.Name("pieces", id.New())}, PageSize: 1000})
	if err != nil || len(some.Listings) != 2 || some.Listings[0].Piece != pieces[1] || some.Listings[0].State != salesv1.Listing_STATE_SOLD || some.Listings[1].Piece != pieces[3] {
		t.Errorf("of three pieces, one never heard of, it lists %v, %v", some, err)
	}
	svctest.Refused(t, b.Service, b.ListListings, &salesv1.ListListingsRequest{Pieces: []string{pieces[0], "401"}}, fault.Invalid, "INVALID_NAME")
	svctest.Refused(t, b.Service, b.ListListings, &salesv1.ListListingsRequest{PageToken: "zz"}, fault.Invalid, "INVALID_PAGE_TOKEN")
	svctest.Refused(t, b.Service, b.ListListings, &salesv1.ListListingsRequest{PageSize: -1}, fault.Invalid, "INVALID_FIELD")
}
