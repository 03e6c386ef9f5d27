package buying

import (
	"context"
	"fmt"
	"net/url"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	"tackfree/pkg/money"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pagetest"
	"tackfree/services/gateway/internal/words"
)

// wednesday is the moment by which all answers here are made.
var wednesday = time.Date(2026, 3, 18, 11, 0, 0, 0, time.UTC)

// shop answers as a test has it.
type shop struct {
	intakev1.IntakeServiceClient
	intakev1.ProspectServiceClient

	role     typev1.Role
	advice   *intakev1.Advice
	kept     []*intakev1.Prospect
	terms    *intakev1.BuyingTerms
	pieces   []*intakev1.Piece
	refused  error // of advice
	closed   error // of buying and leaving
	asked    *intakev1.AdvisePurchaseRequest
	added    *intakev1.AddProspectRequest
	bought   *intakev1.BuyProspectRequest
	declined *intakev1.DeclineProspectRequest
	set      *intakev1.SetBuyingTermsRequest
	setFails error
	addFails error
}

func (s *shop) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "USD", TimeZone: "UTC"}, nil
}

func (s *shop) ListPieces(context.Context, *intakev1.ListPiecesRequest, ...grpc.CallOption) (*intakev1.ListPiecesResponse, error) {
	return &intakev1.ListPiecesResponse{Pieces: s.pieces}, nil
}

func (s *shop) AdvisePurchase(_ context.Context, r *intakev1.AdvisePurchaseRequest, _ ...grpc.CallOption) (*intakev1.AdvisePurchaseResponse, error) {
	s.asked = r
	return &intakev1.AdvisePurchaseResponse{Advice: s.advice}, s.refused
}

func (s *shop) AddProspect(_ context.Context, r *intakev1.AddProspectRequest, _ ...grpc.CallOption) (*intakev1.AddProspectResponse, error) {
	s.added = r
	p := &intakev1.Prospect{Name: "prospects/new", Number: 7, Sighting: r.Sighting, Advice: s.advice, State: intakev1.Prospect_STATE_OPEN, SeenTime: timestamppb.New(wednesday), Etag: `"1"`}
	if s.addFails != nil {
		return nil, s.addFails
	}
	s.kept = append([]*intakev1.Prospect{p}, s.kept...)
	return &intakev1.AddProspectResponse{Prospect: p}, s.refused
}

func (s *shop) BuyProspect(_ context.Context, r *intakev1.BuyProspectRequest, _ ...grpc.CallOption) (*intakev1.BuyProspectResponse, error) {
	s.bought = r
	return &intakev1.BuyProspectResponse{Piece: &intakev1.Piece{Tag: 461}}, s.closed
}

func (s *shop) DeclineProspect(_ context.Context, r *intakev1.DeclineProspectRequest, _ ...grpc.CallOption) (*intakev1.DeclineProspectResponse, error) {
	s.declined = r
	return &intakev1.DeclineProspectResponse{}, s.closed
}

func (s *shop) GetProspect(_ context.Context, r *intakev1.GetProspectRequest, _ ...grpc.CallOption) (*intakev1.GetProspectResponse, error) {
	for _, p := range s.kept {
		if p.Name == r.Name {
			return &intakev1.GetProspectResponse{Prospect: p}, nil
		}
	}
	return nil, errNotThere
}

func (s *shop) ListProspects(_ context.Context, r *intakev1.ListProspectsRequest, _ ...grpc.CallOption) (*intakev1.ListProspectsResponse, error) {
	out := &intakev1.ListProspectsResponse{}
	for _, p := range s.kept {
		if r.State == 0 || r.State == p.State {
			out.Prospects = append(out.Prospects, p)
		}
	}
	return out, nil
}

func (s *shop) GetBuyingTerms(context.Context, *intakev1.GetBuyingTermsRequest, ...grpc.CallOption) (*intakev1.GetBuyingTermsResponse, error) {
	return &intakev1.GetBuyingTermsResponse{Terms: s.terms}, nil
}

func (s *shop) SetBuyingTerms(_ context.Context, r *intakev1.SetBuyingTermsRequest, _ ...grpc.CallOption) (*intakev1.SetBuyingTermsResponse, error) {
	s.set = r
	return &intakev1.SetBuyingTermsResponse{Terms: r.Terms}, s.setFails
}

func serve(t *testing.T, s *shop) *pagetest.Visitor {
	t.Helper()
	if s.role == 0 {
		s.role = typev1.Role_ROLE_OWNER
	}
	return pagetest.Visit(t, Page(), &clients.Suite{Intake: s, Prospects: s}, s.role, wednesday, "/buying/seen")
}

func usd(units int64, cents int32) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "USD", Units: units, Nanos: cents * 10_000_000}
}

func cents(n int64) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "USD", Units: n / 100, Nanos: int32(n%100) * 10_000_000}
}

func voice(language string, units words.Units) *words.Voice {
	return &words.Voice{Language: language, Units: units, Zone: time.UTC, Currency: money.Currency{Code: "USD", Digits: 2}}
}

// onlyIf is advice of a dresser that is too dear at 120, and right at 85.
func onlyIf() *intakev1.Advice {
	ad := &intakev1.Advice{Verdict: intakev1.Advice_VERDICT_ONLY_IF, MostToPay: usd(85, 37), TargetPerHour: usd(35, 0), Chance: 0.8, ChanceAtAsking: 0.62, ChanceOfLoss: 0.07,
		SalePrice: &intakev1.MoneyRange{Low: usd(290, 0), Likely: usd(380, 40), High: usd(500, 0)}, Hours: &intakev1.NumberRange{Low: 4.5, Likely: 6.25, High: 9},
		Material: &intakev1.MoneyRange{Low: usd(14, 0), Likely: usd(22, 0), High: usd(31, 0)}, DaysToSell: &intakev1.NumberRange{Low: 5, Likely: 23.4, High: 96},
		DaysOfWork: 6, Profit: &intakev1.MoneyRange{Low: usd(30, 0), Likely: usd(190, 0), High: usd(320, 0)}, ProfitPerHour: &intakev1.MoneyRange{Low: usd(4, 0), Likely: usd(38, 0), High: usd(61, 0)},
		Conditions: []*intakev1.Advice_Condition{{Kind: intakev1.Advice_Condition_KIND_SELLS_FOR, Money: usd(401, 10)}, {Kind: intakev1.Advice_Condition_KIND_PAY_AT_MOST, Money: usd(85, 37)},
			{Kind: intakev1.Advice_Condition_KIND_HOURS_AT_MOST, Number: 5.5}, {Kind: intakev1.Advice_Condition_KIND_LEAD_TEST}},
		Drivers: []*intakev1.Advice_Driver{{What: intakev1.Advice_Driver_WHAT_SALE_PRICE, MostIfLow: usd(-20, 0), MostIfHigh: usd(205, 90), Share: 0.7},
			{What: intakev1.Advice_Driver_WHAT_HOURS, MostIfLow: usd(150, 0), MostIfHigh: usd(31, 0), Share: 0.28}},
		Costs: []*intakev1.Advice_Cost{{What: intakev1.Advice_Cost_WHAT_LABOUR, Amount: usd(112, 0)}, {What: intakev1.Advice_Cost_WHAT_TARGET, Amount: usd(219, 0)}},
		Basis: &intakev1.Advice_Basis{Sales: 31, SalesOfKind: 4, Belief: 0.45, TooFew: true, HoursUsual: 0.3, MeasuredPieces: 3, Unpriced: []string{"milk paint"}, FloorSaidOf: typev1.PieceSize_PIECE_SIZE_LARGE,
			Likes: []*intakev1.Advice_Like{{Tag: 12, Title: "Pine <dresser>", Price: usd(365, 0), Days: 19}, {Tag: 15, Title: "Elm dresser", Price: usd(310, 0)}}},
		Hazards: []*intakev1.Advice_Hazard{{Id: "lead", Says: "The old coating is presumed to hold lead."}}}
	for i := range 21 {
		ad.ProfitPerHourTwentieths = append(ad.ProfitPerHourTwentieths, usd(int64(-10+4*i), 0))
	}
	return ad
}

// notEvenAGift is advice on a dresser whose material nobody has bought yet.
func notEvenAGift() *intakev1.Advice {
	ad := onlyIf()
	ad.Verdict, ad.MostToPay, ad.TargetPerHour, ad.ChanceAsGift = intakev1.Advice_VERDICT_NO, usd(-31, 0), usd(12, 0), 0.669
	ad.Material = &intakev1.MoneyRange{Low: usd(0, 0), Likely: usd(0, 0), High: usd(0, 0)}
	ad.Conditions = []*intakev1.Advice_Condition{{Kind: intakev1.Advice_Condition_KIND_SELLS_FOR, Money: usd(421, 67)}, {Kind: intakev1.Advice_Condition_KIND_HOURS_AT_MOST, Number: 5.5},
		{Kind: intakev1.Advice_Condition_KIND_PER_HOUR_AT_MOST, Money: usd(9, 70)}}
	ad.Drivers = []*intakev1.Advice_Driver{{What: intakev1.Advice_Driver_WHAT_SALE_PRICE, MostIfLow: usd(-90, 0), MostIfHigh: usd(-2, 0), GiftChanceIfLow: 0.414, GiftChanceIfHigh: 0.88, Share: 1}}
	return ad
}

// typedIn is the form as somebody fills it in before that dresser.
func typedIn(more ...string) url.Values {
	q := url.Values{"kind": {"dresser"}, "size": {"medium"}, "material": {"solid wood"}, "old": {"unknown"}, "wrong": {"water ring", "odour"}, "look": {"paint"}, "asking": {"120"},
		"distance": {"12,5"}, "per": {"km"}, "source": {"barn sale"}, "note": {"<b>pretty</b>"}}
	for i := 0; i < len(more); i += 2 {
		q.Set(more[i], more[i+1])
	}
	return q
}

func prospect(number int32, state intakev1.Prospect_State, s *intakev1.Sighting) *intakev1.Prospect {
	return &intakev1.Prospect{Name: fmt.Sprintf("prospects/%d", number), Number: number, State: state, Sighting: s, Advice: onlyIf(), SeenTime: timestamppb.New(wednesday.Add(-time.Hour)), Etag: `"3"`}
}
