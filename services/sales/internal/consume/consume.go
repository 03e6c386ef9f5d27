// Package consume is how price advice follows the shop: what pieces are, how they look, and how long they
// stood for what until they were sold, is noted from the events of intake, workflow and sales itself.
//
//	intake: taken in, scrapped ────▶ past_piece ◀── plan, by its look: workflow
//	sales: listed, asked
//	       otherwise, withdrawn ───▶ past_stretch
//	       sold, refunded ─────────▶ past_sale            past_stamp: goes up with each change
//
// Each column is written from one producer's events, which come in their order, and no rule looks from
// one to the other before advice is asked. So what is noted is the same in whatever order the
// producers are heard.
//
// Sales follows its own log as it follows others': what was sold before there was advice is learned too, and
// the whole can be read anew.
package consume

import (
	"context"
	"fmt"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/sales/internal/store"
)

// Handler notes events; it implements inbox.Handler.
type Handler struct {
	Shop wire.Shop
	// Rebuild notes all anew after a producer came back from a backup.
	Rebuild func(context.Context) error
}

// Apply implements inbox.Handler.
func (h Handler) Apply(ctx context.Context, tx *pg.Tx, events []inbox.Event) error {
	b := &batch{st: store.New(tx), currency: h.Shop.Currency}
	for _, e := range events {
		if err := b.note(ctx, e); err != nil {
			return fmt.Errorf("event %s: %w", e.EventId, err)
		}
	}
	if !b.changed {
		return nil
	}
	return b.st.BumpPast(ctx)
}

// Restored implements inbox.Handler: versions may have been issued again with other content, so
// nothing of what was noted can be trusted.
func (h Handler) Restored(ctx context.Context, _ string) error { return h.Rebuild(ctx) }

// batch notes some events.
type batch struct {
	st       store.Store
	currency money.Currency
	changed  bool // something was noted
}

// note sends an event to its function. Events from which nothing of a price follows are named, so
// that a kind from a newer producer is refused rather than passed over.
func (b *batch) note(ctx context.Context, e inbox.Event) error {
	switch p := e.Payload.(type) {
	case *eventsv1.Envelope_PieceTakenIn:
		return b.takenIn(ctx, e, p.PieceTakenIn)
	case *eventsv1.Envelope_PieceScrapped:
		return b.scrapped(ctx, e)
	case *eventsv1.Envelope_StagesPlanned:
		return b.looks(ctx, e, p.StagesPlanned.GetRoute())
	case *eventsv1.Envelope_FinishPlanApproved:
		return b.looks(ctx, e, p.FinishPlanApproved.GetLook())
	case *eventsv1.Envelope_PieceListed:
		return b.listed(ctx, e, p.PieceListed)
	case *eventsv1.Envelope_AskingPriceChanged:
		return b.askedOtherwise(ctx, e, p.AskingPriceChanged)
	case *eventsv1.Envelope_ListingWithdrawn:
		return b.withdrawn(ctx, e)
	case *eventsv1.Envelope_PieceSold:
		return b.sold(ctx, e, p.PieceSold)
	case *eventsv1.Envelope_SaleRefunded:
		return b.refunded(ctx, e, p.SaleRefunded)
	}
	if !saysNothing(e) {
		return fmt.Errorf("a kind of event that this version does not know; it is noted once sales is as new as %s", e.Producer)
	}
	return nil
}

// saysNothing reports whether an event is of a kind from which nothing of a price follows.
func saysNothing(e inbox.Event) bool {
	switch e.Payload.(type) {
	case *eventsv1.Envelope_LotBought, *eventsv1.Envelope_LotSplitRevised, *eventsv1.Envelope_PurchaseCorrected,
		*eventsv1.Envelope_PhotoAdded, *eventsv1.Envelope_PhotoDescribed, *eventsv1.Envelope_PhotoRemoved,
		*eventsv1.Envelope_ProspectAdded, *eventsv1.Envelope_ProspectBought, *eventsv1.Envelope_ProspectDeclined, *eventsv1.Envelope_BuyingTermsSet,
		*eventsv1.Envelope_ClientSaved, *eventsv1.Envelope_ClientRetired, *eventsv1.Envelope_CommissionTermsSet, *eventsv1.Envelope_EstimateDrafted,
		*eventsv1.Envelope_EstimateAnswered, *eventsv1.Envelope_ChangeOrderNoted, *eventsv1.Envelope_CommissionCancelled, *eventsv1.Envelope_CommissionPieceBrought, *eventsv1.Envelope_CommissionFinished, *eventsv1.Envelope_LetterheadSet, *eventsv1.Envelope_PartAssessed,
		*eventsv1.Envelope_SellingTermsSet, *eventsv1.Envelope_ListingChannelsChanged, *eventsv1.Envelope_MarkdownPlanSet,
		*eventsv1.Envelope_MarkdownPlanDropped, *eventsv1.Envelope_MarkdownStepSkipped, *eventsv1.Envelope_ChannelSet, *eventsv1.Envelope_ChannelRetired,
		*eventsv1.Envelope_TaxPlaceSet, *eventsv1.Envelope_TaxPlaceRetired, *eventsv1.Envelope_PaymentReceived, *eventsv1.Envelope_PaymentVoided, *eventsv1.Envelope_CashStepSet,
		*eventsv1.Envelope_DepositTaken, *eventsv1.Envelope_DepositSettled, *eventsv1.Envelope_PieceHeld, *eventsv1.Envelope_HoldEnded, *eventsv1.Envelope_OfferMade, *eventsv1.Envelope_OfferEnded,
		*eventsv1.Envelope_PersonAdded, *eventsv1.Envelope_PersonChanged, *eventsv1.Envelope_RouteSaved, *eventsv1.Envelope_StageAssigned, *eventsv1.Envelope_StageHandedOver,
		*eventsv1.Envelope_FinishPlanAmended, *eventsv1.Envelope_StageFinished, *eventsv1.Envelope_StageSentBack, *eventsv1.Envelope_PiecePromised, *eventsv1.Envelope_WorkStopped,
		*eventsv1.Envelope_ClockedOn, *eventsv1.Envelope_ClockedOff, *eventsv1.Envelope_ClockEntryCorrected,
		*eventsv1.Envelope_ClockForgotten, *eventsv1.Envelope_ClockEntrySetAside, *eventsv1.Envelope_ClockReviewSettled,
		*eventsv1.Envelope_PartTested, *eventsv1.Envelope_PartDryForecastChanged, *eventsv1.Envelope_PartReady, *eventsv1.Envelope_RecoatWindowClosing, *eventsv1.Envelope_DryingObserved,
		*eventsv1.Envelope_StationSaved, *eventsv1.Envelope_PieceMoved, *eventsv1.Envelope_StageInspected,
		*eventsv1.Envelope_SentOut, *eventsv1.Envelope_OutsideWorkChased, *eventsv1.Envelope_OutsideWorkReceived, *eventsv1.Envelope_OutsideBillCorrected,
		*eventsv1.Envelope_BatchFormed, *eventsv1.Envelope_BatchEnded, *eventsv1.Envelope_StageLeftBatch,
		*eventsv1.Envelope_DayPlanned, *eventsv1.Envelope_StageRefused, *eventsv1.Envelope_SwapOffered, *eventsv1.Envelope_SwapEnded,
		*eventsv1.Envelope_StagePinned, *eventsv1.Envelope_StageUnpinned, *eventsv1.Envelope_PieceLeftFloor, *eventsv1.Envelope_PieceBackOnFloor,
		*eventsv1.Envelope_ComebackOpened, *eventsv1.Envelope_ComebackPlanned, *eventsv1.Envelope_ComebackJudged, *eventsv1.Envelope_ComebackClosed:
		return true
	}
	return false
}

// of is the piece that an event is about.
func (b *batch) of(e inbox.Event) (id.ID, error) {
	if e.Piece == id.Nil {
		return e.Piece, fmt.Errorf("it is about no piece")
	}
	b.changed = true
	return e.Piece, nil
}

func at(e inbox.Event) time.Time { return e.OccurredAt.AsTime().Truncate(time.Microsecond) }

// amount reads money that must be the shop's and not below zero.
func (b *batch) amount(what string, m *moneyv1.Money) (money.Amount, error) {
	if m == nil {
		return 0, nil
	}
	if m.CurrencyCode != b.currency.Code {
		return 0, fmt.Errorf("%s is in %q, but the shop sells in %s", what, m.CurrencyCode, b.currency.Code)
	}
	a, ok := wire.FromMoney(m, b.currency.Digits)
	if !ok || a < 0 {
		return 0, fmt.Errorf("%s is not an amount: %v", what, m)
	}
	return a, nil
}
