package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
)

// PriceWhatIf implements AnswerService.
func (s *Server) PriceWhatIf(ctx context.Context, r *costingv1.PriceWhatIfRequest) (*costingv1.PriceWhatIfResponse, error) {
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	offer, err := s.decodeOffer(r)
	if err != nil {
		return nil, err
	}
	var sheet costing.Sheet
	var by costing.Yardstick
	var average *money.Amount
	now := s.Shop.Now()
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := s.sheets(q)
		if sheet, err = st.Sheet(ctx, piece); err != nil || offer.ToCome == 0 {
			return err
		}
		if by, average, err = st.Yardstick(ctx, []time.Time{now}, now); err != nil {
			return err
		}
		offer.OnTop, err = st.OnTop(ctx, now)
		return err
	})
	if err != nil {
		return nil, err
	}
	if offer.ToCome > 0 {
		if offer.Standard, err = standardNow(by, now); err != nil {
			return nil, err
		}
	}
	outcome, err := sheet.If(offer)
	if err != nil {
		return nil, err
	}
	out := s.encodeOutcome(r, sheet, offer, outcome)
	out.StandardRateIsAverage = average != nil
	return out, nil
}

// mostToCome bounds the hands that are still to come: nobody works longer on a piece.
const mostToCome = 10_000 * time.Hour

// decodeOffer reads what is asked. Faults: CURRENCY_NOT_THE_SHOPS, AMOUNT_MALFORMED, AMOUNT_NEGATIVE, FEE_TWICE,
// PERCENT_MALFORMED, TIME_ABSURD.
func (s *Server) decodeOffer(r *costingv1.PriceWhatIfRequest) (o costing.Offer, err error) {
	if r.FeePercent != "" && r.Fee != nil {
		return o, fault.New(fault.Invalid, "FEE_TWICE", "Say what the channel keeps as a percentage or as an amount, not both.").At("fee")
	}
	if o.FeeShare, err = share("fee_percent", r.FeePercent); err != nil {
		return o, err
	}
	if o.Price, err = s.Shop.Money("price", r.Price); err != nil {
		return o, err
	}
	if o.Fee, err = s.Shop.Money("fee", r.Fee); err != nil {
		return o, err
	}
	if o.Material, err = s.Shop.Money("material_to_come", r.MaterialToCome); err != nil {
		return o, err
	}
	if o.Target, err = s.Shop.Money("target_per_hour", r.TargetPerHour); err != nil {
		return o, err
	}
	if r.TimeToCome != nil && r.TimeToCome.CheckValid() != nil || r.TimeToCome.AsDuration() < 0 || r.TimeToCome.AsDuration() > mostToCome {
		return o, fault.New(fault.Invalid, "TIME_ABSURD", "The hours to come are none at least, and not more than 10,000.").At("time_to_come")
	}
	o.ToCome = r.TimeToCome.AsDuration().Truncate(time.Millisecond)
	return o, nil
}

// share reads a percentage with up to four digits after the point, in millionths; none is 0. Fault:
// PERCENT_MALFORMED.
func share(field, percent string) (int64, error) {
	if percent == "" {
		return 0, nil
	}
	millionths, err := money.Currency{Digits: 4}.Parse(percent)
	if err != nil || millionths < 0 {
		return 0, fault.New(fault.Invalid, "PERCENT_MALFORMED", "%q is not a percentage from 0 up with at most four digits after the point, such as 12.5.", percent).At(field)
	}
	return int64(millionths), nil
}

func (s *Server) encodeOutcome(r *costingv1.PriceWhatIfRequest, sheet costing.Sheet, o costing.Offer, is costing.Outcome) *costingv1.PriceWhatIfResponse {
	m, open := s.Shop.ToMoney, sheet.Open(s.Shop.Zone, s.Shop.Currency)
	out := &costingv1.PriceWhatIfResponse{
		Price: m(o.Price), Fee: m(is.Fee), CostSoFar: m(sheet.Cost()), Cost: m(is.Cost), LeftBySales: m(is.Left), Profit: m(is.Profit),
		MarginPercent: is.Margin(o.Price), MarkupPercent: is.Markup(o.Price), Time: durationpb.New(is.Time), BreakEvenPrice: m(is.BreakEven),
		Provisional: len(open) > 0, ProvisionalReasons: open,
	}
	if o.ToCome > 0 {
		out.StandardRate = m(o.Standard)
		out.LabourToCome, out.BurdenToCome, out.OverheadToCome = m(is.ToCome.Pay), m(is.ToCome.Burden), m(is.ToCome.Overhead)
	}
	if o.Material > 0 {
		out.MaterialToCome = m(o.Material)
	}
	if perHour, ok := is.PerHour(); ok {
		out.ProfitPerLabourHour = m(perHour)
	}
	if r.TargetPerHour != nil {
		out.TargetPrice = m(is.Reaching)
	}
	return out
}
