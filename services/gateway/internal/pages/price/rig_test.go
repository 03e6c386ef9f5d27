package price

import (
	"context"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pagetest"
	"tackfree/services/gateway/internal/words"
)

// wednesday is the moment by which all answers here are made.
var wednesday = time.Date(2026, 3, 18, 11, 0, 0, 0, time.UTC)

// shop answers as a test has it.
type shop struct {
	intakev1.IntakeServiceClient
	salesv1.SalesServiceClient
	salesv1.PriceAdviceServiceClient

	role    typev1.Role
	answer  *salesv1.AdvisePriceResponse
	listing *salesv1.Listing
	terms   *salesv1.SellingTerms
	refused error // of advice
	fails   error // of what is commanded
	asked   *salesv1.AdvisePriceRequest
	changed *salesv1.ChangeAskingPriceRequest
	listed  *salesv1.CreateListingRequest
	set     *salesv1.SetSellingTermsRequest
}

func (s *shop) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "USD", TimeZone: "UTC"}, nil
}

func (s *shop) GetPiece(_ context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	if r.Name != "pieces/tag:41" {
		return nil, fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no piece with that tag.")
	}
	return &intakev1.GetPieceResponse{Piece: &intakev1.Piece{Name: "pieces/p41", Tag: 41, Title: "Elm <hall> bench", Kind: "bench"}}, nil
}

func (s *shop) GetListing(context.Context, *salesv1.GetListingRequest, ...grpc.CallOption) (*salesv1.GetListingResponse, error) {
	if s.listing == nil {
		return nil, fault.New(fault.NotFound, "LISTING_NOT_FOUND", "It was never listed.")
	}
	return &salesv1.GetListingResponse{Listing: s.listing}, nil
}

func (s *shop) AdvisePrice(_ context.Context, r *salesv1.AdvisePriceRequest, _ ...grpc.CallOption) (*salesv1.AdvisePriceResponse, error) {
	s.asked = r
	if s.refused != nil {
		return nil, s.refused
	}
	return s.answer, nil
}

func (s *shop) ChangeAskingPrice(_ context.Context, r *salesv1.ChangeAskingPriceRequest, _ ...grpc.CallOption) (*salesv1.ChangeAskingPriceResponse, error) {
	s.changed = r
	return &salesv1.ChangeAskingPriceResponse{}, s.fails
}

func (s *shop) CreateListing(_ context.Context, r *salesv1.CreateListingRequest, _ ...grpc.CallOption) (*salesv1.CreateListingResponse, error) {
	s.listed = r
	return &salesv1.CreateListingResponse{}, s.fails
}

func (s *shop) GetSellingTerms(context.Context, *salesv1.GetSellingTermsRequest, ...grpc.CallOption) (*salesv1.GetSellingTermsResponse, error) {
	return &salesv1.GetSellingTermsResponse{Terms: s.terms, InForce: &salesv1.SellingTerms{HoldingMedium: usd(0, 70), HoldingLarge: usd(1, 40), DaysBetweenMarkdowns: proto.Int32(14), MostMarkdowns: proto.Int32(3),
		HorizonDays: proto.Int32(180), SalvagePercent: proto.Float64(40)}}, nil
}

func (s *shop) SetSellingTerms(_ context.Context, r *salesv1.SetSellingTermsRequest, _ ...grpc.CallOption) (*salesv1.SetSellingTermsResponse, error) {
	s.set = r
	return &salesv1.SetSellingTermsResponse{}, s.fails
}

func serve(t *testing.T, s *shop) *pagetest.Visitor {
	t.Helper()
	if s.role == 0 {
		s.role = typev1.Role_ROLE_OWNER
	}
	return pagetest.Visit(t, Page(), &clients.Suite{Intake: s, Prices: s, Sales: s}, s.role, wednesday, "/money/terms")
}

func usd(units int64, cents int32) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "USD", Units: units, Nanos: cents * 10_000_000}
}

func voice(language string) *words.Voice {
	return &words.Voice{Language: language, Units: words.Metric, Zone: time.UTC, Currency: money.Currency{Code: "USD", Digits: 2}}
}

// bench is advice of a bench: 420 at first, 378 after two weeks.
func bench() *salesv1.AdvisePriceResponse {
	course := func(a, b, c float64) []*salesv1.SoldBy {
		return []*salesv1.SoldBy{{Day: 0, Share: a / 10}, {Day: 13, Share: a, ShareLow: a / 2, ShareHigh: a + 0.1}, {Day: 29, Share: b, ShareLow: b / 2, ShareHigh: b + 0.1}, {Day: 89, Share: c, ShareLow: c / 2, ShareHigh: c}}
	}
	way := salesv1.AdvisePriceResponse_Way_KIND_ADVISED
	return &salesv1.AdvisePriceResponse{
		Forecast: &salesv1.SaleForecast{PriceLow: usd(300, 0), PriceLikely: usd(390, 0), PriceHigh: usd(510, 0), DaysLow: 4, DaysLikely: 31, Elasticity: 2.4, Basis: &salesv1.Basis{
			Sales: 31, SalesOfKind: 2, Listings: 12, Belief: 0.6, TooFew: true,
			Effects: []*salesv1.Basis_Effect{{Trait: salesv1.Basis_Effect_TRAIT_KIND, Word: "bench", Factor: 0.8, Low: 0.64, High: 1, Sales: 2},
				{Trait: salesv1.Basis_Effect_TRAIT_SEASON, Word: "january", Factor: 1.1, Low: 1, High: 1.25, Sales: 9}, {Trait: salesv1.Basis_Effect_TRAIT_CHANNEL, Word: "attic <b>sale</b>", Factor: 1, Low: 0.9, High: 1.1}},
			Examples: []*salesv1.Basis_Example{{Tag: 12, Title: "Oak bench", Price: usd(365, 0), SaleTime: timestamppb.New(wednesday.AddDate(0, -1, 0)), Days: 19}}}},
		Ways: []*salesv1.AdvisePriceResponse_Way{
			{Kind: way, Steps: []*salesv1.AdvisePriceResponse_Step{{Day: 0, AskingPrice: usd(420, 0)}, {Day: 14, AskingPrice: usd(378, 0)}}, Expected: usd(331, 40), Days: 28.4, Sold: 0.93, SoldBy: course(0.3, 0.6, 0.93)},
			{Kind: salesv1.AdvisePriceResponse_Way_KIND_ONE_PRICE, Steps: []*salesv1.AdvisePriceResponse_Step{{AskingPrice: usd(395, 0)}}, Expected: usd(322, 0), Days: 33, Sold: 0.88, SoldBy: course(0.33, 0.55, 0.88)},
		},
		HoldingPerDay: usd(0, 80), Salvage: usd(156, 0), FeePercent: 3.5, HorizonDays: 90, Highest: usd(535, 0), HoldingSaidOf: typev1.PieceSize_PIECE_SIZE_MEDIUM,
		Seen: []*salesv1.AdvisePriceResponse_Seen{{Day: 9, Share: 0.25, Standing: 8, Sold: 2}, {Day: 45, Share: 0.5, Standing: 3, Sold: 1}, {Day: 95, Share: 1, Standing: 1, Sold: 1}}, SeenListings: 8}
}
