package commissions

import (
	"context"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
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

func usd(cents int64) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "USD", Units: cents / 100, Nanos: int32(cents%100) * 10_000_000}
}

func march(day int32) *date.Date { return &date.Date{Year: 2026, Month: 3, Day: day} }

// shop answers as a test has it, and keeps the last command.
type shop struct {
	intakev1.IntakeServiceClient
	intakev1.ClientServiceClient
	intakev1.CommissionServiceClient
	salesv1.SalesServiceClient

	role     typev1.Role
	head     *intakev1.Letterhead
	terms    *intakev1.CommissionTerms
	client   *intakev1.Client
	order    *intakev1.CommissionOrder
	others   []*intakev1.CommissionOrder
	listing  *salesv1.Listing
	fails    error // of what is commanded
	preview  error
	asked    proto.Message // the last question
	commands []proto.Message
}

func gave[R any](s *shop, r proto.Message, answer R) (R, error) {
	s.commands = append(s.commands, r)
	return answer, s.fails
}

func (s *shop) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "USD", TimeZone: "UTC"}, nil
}

func (s *shop) GetPiece(_ context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	if r.Name != "pieces/tag:41" {
		return nil, fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no piece with that tag.")
	}
	return &intakev1.GetPieceResponse{Piece: &intakev1.Piece{Name: "pieces/p41", Tag: 41}}, nil
}

func (s *shop) ListPieces(_ context.Context, r *intakev1.ListPiecesRequest, _ ...grpc.CallOption) (*intakev1.ListPiecesResponse, error) {
	s.asked = r
	return &intakev1.ListPiecesResponse{Pieces: []*intakev1.Piece{{Name: "pieces/p41", Tag: 41, Title: "Elm <hall> bench", Kind: "bench"}}}, nil
}

func (s *shop) GetLetterhead(context.Context, *intakev1.GetLetterheadRequest, ...grpc.CallOption) (*intakev1.GetLetterheadResponse, error) {
	return &intakev1.GetLetterheadResponse{Letterhead: s.head}, nil
}

func (s *shop) SetLetterhead(_ context.Context, r *intakev1.SetLetterheadRequest, _ ...grpc.CallOption) (*intakev1.SetLetterheadResponse, error) {
	return gave(s, r, &intakev1.SetLetterheadResponse{})
}

func (s *shop) GetClient(_ context.Context, r *intakev1.GetClientRequest, _ ...grpc.CallOption) (*intakev1.GetClientResponse, error) {
	if r.Name != s.client.Name {
		return nil, fault.New(fault.NotFound, "CLIENT_NOT_FOUND", "There is no such client.")
	}
	return &intakev1.GetClientResponse{Client: s.client}, nil
}

func (s *shop) ListClients(_ context.Context, r *intakev1.ListClientsRequest, _ ...grpc.CallOption) (*intakev1.ListClientsResponse, error) {
	s.asked = r
	return &intakev1.ListClientsResponse{Clients: []*intakev1.Client{s.client}, NextPageToken: "more"}, nil
}

func (s *shop) AddClient(_ context.Context, r *intakev1.AddClientRequest, _ ...grpc.CallOption) (*intakev1.AddClientResponse, error) {
	return gave(s, r, &intakev1.AddClientResponse{Client: s.client})
}

func (s *shop) ChangeClient(_ context.Context, r *intakev1.ChangeClientRequest, _ ...grpc.CallOption) (*intakev1.ChangeClientResponse, error) {
	return gave(s, r, &intakev1.ChangeClientResponse{})
}

func (s *shop) RetireClient(_ context.Context, r *intakev1.RetireClientRequest, _ ...grpc.CallOption) (*intakev1.RetireClientResponse, error) {
	return gave(s, r, &intakev1.RetireClientResponse{})
}

func (s *shop) GetCommission(_ context.Context, r *intakev1.GetCommissionRequest, _ ...grpc.CallOption) (*intakev1.GetCommissionResponse, error) {
	if r.Name != s.order.Name {
		return nil, fault.New(fault.NotFound, "COMMISSION_NOT_FOUND", "There is no such commission.")
	}
	return &intakev1.GetCommissionResponse{Commission: s.order}, nil
}

func (s *shop) ListCommissions(_ context.Context, r *intakev1.ListCommissionsRequest, _ ...grpc.CallOption) (*intakev1.ListCommissionsResponse, error) {
	out := &intakev1.ListCommissionsResponse{}
	for _, c := range append([]*intakev1.CommissionOrder{s.order}, s.others...) {
		if (r.State == 0 || c.State == r.State) && (r.Client == "" || r.Client == c.Client) {
			out.Commissions = append(out.Commissions, c)
		}
	}
	return out, nil
}

func (s *shop) GetCommissionTerms(context.Context, *intakev1.GetCommissionTermsRequest, ...grpc.CallOption) (*intakev1.GetCommissionTermsResponse, error) {
	return &intakev1.GetCommissionTermsResponse{Terms: s.terms}, nil
}

func (s *shop) SetCommissionTerms(_ context.Context, r *intakev1.SetCommissionTermsRequest, _ ...grpc.CallOption) (*intakev1.SetCommissionTermsResponse, error) {
	return gave(s, r, &intakev1.SetCommissionTermsResponse{})
}

func (s *shop) SuggestEstimate(_ context.Context, r *intakev1.SuggestEstimateRequest, _ ...grpc.CallOption) (*intakev1.SuggestEstimateResponse, error) {
	s.asked = r
	return &intakev1.SuggestEstimateResponse{Draft: &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{work("Refinish <it>", "8", "10", "14", 650_00)}, Promised: march(30)},
		Basis:   &intakev1.SuggestEstimateResponse_Basis{FinishPlan: "pieces/p41/finishPlans/1", Stages: 9, Unpriced: []string{"stain"}},
		Hazards: []*intakev1.Advice_Hazard{{Id: "lead", Says: "It is presumed to hold lead."}}}, s.fails
}

func (s *shop) DraftEstimate(_ context.Context, r *intakev1.DraftEstimateRequest, _ ...grpc.CallOption) (*intakev1.DraftEstimateResponse, error) {
	return gave(s, r, &intakev1.DraftEstimateResponse{Commission: s.order})
}

func (s *shop) ReviseEstimate(_ context.Context, r *intakev1.ReviseEstimateRequest, _ ...grpc.CallOption) (*intakev1.ReviseEstimateResponse, error) {
	return gave(s, r, &intakev1.ReviseEstimateResponse{})
}

func (s *shop) ApproveEstimate(_ context.Context, r *intakev1.ApproveEstimateRequest, _ ...grpc.CallOption) (*intakev1.ApproveEstimateResponse, error) {
	return gave(s, r, &intakev1.ApproveEstimateResponse{})
}

func (s *shop) DeclineEstimate(_ context.Context, r *intakev1.DeclineEstimateRequest, _ ...grpc.CallOption) (*intakev1.DeclineEstimateResponse, error) {
	return gave(s, r, &intakev1.DeclineEstimateResponse{})
}

func (s *shop) AddChangeOrder(_ context.Context, r *intakev1.AddChangeOrderRequest, _ ...grpc.CallOption) (*intakev1.AddChangeOrderResponse, error) {
	return gave(s, r, &intakev1.AddChangeOrderResponse{})
}

func (s *shop) AnswerChangeOrder(_ context.Context, r *intakev1.AnswerChangeOrderRequest, _ ...grpc.CallOption) (*intakev1.AnswerChangeOrderResponse, error) {
	return gave(s, r, &intakev1.AnswerChangeOrderResponse{})
}

func (s *shop) BringPiece(_ context.Context, r *intakev1.BringPieceRequest, _ ...grpc.CallOption) (*intakev1.BringPieceResponse, error) {
	return gave(s, r, &intakev1.BringPieceResponse{})
}

func (s *shop) FinishCommission(_ context.Context, r *intakev1.FinishCommissionRequest, _ ...grpc.CallOption) (*intakev1.FinishCommissionResponse, error) {
	return gave(s, r, &intakev1.FinishCommissionResponse{})
}

func (s *shop) CancelCommission(_ context.Context, r *intakev1.CancelCommissionRequest, _ ...grpc.CallOption) (*intakev1.CancelCommissionResponse, error) {
	return gave(s, r, &intakev1.CancelCommissionResponse{})
}

func (s *shop) PreviewCancellation(_ context.Context, r *intakev1.PreviewCancellationRequest, _ ...grpc.CallOption) (*intakev1.PreviewCancellationResponse, error) {
	s.asked = r
	return &intakev1.PreviewCancellationResponse{Settlement: settled(), Etag: `"4"`}, s.preview
}

func (s *shop) GetListing(context.Context, *salesv1.GetListingRequest, ...grpc.CallOption) (*salesv1.GetListingResponse, error) {
	if s.listing == nil {
		return nil, fault.New(fault.NotFound, "LISTING_NOT_FOUND", "It was never listed.")
	}
	return &salesv1.GetListingResponse{Listing: s.listing}, nil
}

func settled() *intakev1.Settlement {
	return &intakev1.Settlement{Rule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT, CancelTime: timestamppb.New(wednesday), Reason: "moving <away>", Minutes: 250, Rate: usd(65_00), Labour: usd(270_83), MaterialCost: usd(30_00), MarkupPercent: "35",
		Material: usd(40_50), TaxPercent: "8.875", Tax: usd(27_63), Approved: usd(854_67), PercentOfRest: "20", OfRest: usd(103_14), Owed: usd(442_10), DepositPaid: usd(427_34), ToPay: usd(14_76), ToRefund: usd(0), Discount: usd(0)}
}

func work(what, low, likely, high string, price int64) *intakev1.EstimateLine {
	return &intakev1.EstimateLine{What: what, Price: usd(price), Of: &intakev1.EstimateLine_Labour_{Labour: &intakev1.EstimateLine_Labour{HoursLow: low, HoursLikely: likely, HoursHigh: high, Rate: usd(65_00)}}}
}

func version(n int32, total int64, lines ...*intakev1.EstimateLine) *intakev1.Estimate {
	return &intakev1.Estimate{Version: n, DraftTime: timestamppb.New(wednesday.AddDate(0, 0, -3)), Deposit: usd(100_00), Totals: &intakev1.EstimateTotals{Subtotal: usd(total), Total: usd(total), Tax: usd(0), Discount: usd(0)},
		TotalsLow: &intakev1.EstimateTotals{Total: usd(520_00)}, TotalsHigh: &intakev1.EstimateTotals{Total: usd(910_00)}, CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE,
		Draft: &intakev1.EstimateDraft{Lines: lines, TaxPercent: "8.875", ValidUntil: march(20), Promised: march(29), DiscountPercent: "10", DepositPercent: "50"}}
}

// counter is a shop with a client and a commission of hers, whose second version waits for her.
func counter() *shop {
	second := version(2, 600_00, work("Refinish <it>", "8", "9", "12", 600_00), &intakev1.EstimateLine{What: "Varnish", Untaxed: true, Price: usd(135_00), Of: &intakev1.EstimateLine_Material_{Material: &intakev1.EstimateLine_Material{Cost: usd(100_00), MarkupPercent: "35"}}})
	second.Reason = "less gloss"
	return &shop{head: &intakev1.Letterhead{ShopName: "Reedmere Refinishing", Address: []string{"14 Mill Lane"}, Paper: intakev1.Letterhead_PAPER_A4, Etag: `"1"`},
		terms:  &intakev1.CommissionTerms{Rate: usd(65_00), MarkupPercent: "35", TaxPercent: "8.875", DepositPercent: "50", ValidDays: 30, CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE, Etag: `"3"`},
		client: &intakev1.Client{Name: "clients/c1", Number: 7, Etag: `"2"`, Details: &intakev1.ClientDetails{DisplayName: "Ana <b>Ruiz", Phone: "555 0101", Email: "ana@example.org", Address: []string{"4 Mill Lane", "Barton"}}},
		order: &intakev1.CommissionOrder{Name: "commissions/o1", Number: 12, Client: "clients/c1", ClientName: "Ana <b>Ruiz", Description: "Refinish a <walnut> table", State: intakev1.CommissionOrder_STATE_ESTIMATED, Etag: `"4"`,
			Estimates: []*intakev1.Estimate{version(1, 650_00, work("Refinish <it>", "8", "10", "14", 650_00)), second}}}
}

// approved is the same once she agreed, with the piece and an open change order.
func (s *shop) approved() *shop {
	c := s.order
	c.State, c.ApprovedVersion, c.Piece, c.PieceTag, c.Promised = intakev1.CommissionOrder_STATE_APPROVED, 2, "pieces/p41", 41, march(20)
	c.Estimates[1].Answer = &intakev1.ClientAnswer{By: "Ana", How: intakev1.ClientAnswer_HOW_BY_PHONE, Time: timestamppb.New(wednesday)}
	c.Invoice = &intakev1.CommissionOrder_Invoice{Price: usd(600_00), Tax: usd(0), Total: usd(600_00)}
	c.ChangeOrders = []*intakev1.ChangeOrder{{Number: 1, State: intakev1.ChangeOrder_STATE_OPEN, Reason: "worm in a <leg>", Lines: []*intakev1.EstimateLine{work("A new leg", "2", "2", "2", 130_00)}, AddTime: timestamppb.New(wednesday),
		Totals: &intakev1.EstimateTotals{Subtotal: usd(130_00), Total: usd(130_00)}, Promised: march(31)}}
	return s
}

func serve(t *testing.T, s *shop) *pagetest.Visitor {
	t.Helper()
	if s.role == 0 {
		s.role = typev1.Role_ROLE_OWNER
	}
	return pagetest.Visit(t, Page(), &clients.Suite{Intake: s, Clients: s, Commissions: s, Sales: s}, s.role, wednesday, "/letterhead")
}

// last is the last command that was given.
func last[R proto.Message](t *testing.T, s *shop) (none R) {
	t.Helper()
	if len(s.commands) == 0 {
		t.Fatal("nothing was commanded")
	}
	r, is := s.commands[len(s.commands)-1].(R)
	if !is {
		t.Fatalf("the last command is %T", s.commands[len(s.commands)-1])
	}
	return r
}

func pagetestVoice() *words.Voice {
	return &words.Voice{Language: "en", Units: words.Metric, Zone: time.UTC, Currency: money.Currency{Code: "USD", Digits: 2}}
}
