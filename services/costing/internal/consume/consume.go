// Package consume is how the books follow the shop: one file for each producer, one
// function for each of its events that moves money, says what a piece is or who a person is.
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
	"tackfree/services/costing/internal/books"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// Handler books events; it implements inbox.Handler.
type Handler struct {
	Shop  wire.Shop
	Rules *costing.Rules
	// Changed is told, after the commit, which pieces' sheets changed; nil tells nobody.
	Changed func([]id.ID)
	// Later is what whoever books whole logs leaves to be settled at their end; nil: all is settled at once.
	Later *costing.Unsettled
	// Rebuild recomputes the books after a producer came back from a backup.
	Rebuild func(context.Context) error
}

// Apply implements inbox.Handler.
func (h Handler) Apply(ctx context.Context, tx *pg.Tx, events []inbox.Event) error {
	b, err := h.open(ctx, store.New(tx), events)
	if err != nil {
		return err
	}
	for _, e := range events {
		if err := b.book(e); err != nil {
			return fmt.Errorf("event %s: %w", e.EventId, err)
		}
	}
	if err := h.keep(ctx, tx, b.Book); err != nil {
		return err
	}
	if pieces := b.Pieces(); h.Changed != nil && len(pieces) > 0 { // after Keep, for what it settles is of pieces too
		tx.After(func() { h.Changed(pieces) })
	}
	return nil
}

func (h Handler) keep(ctx context.Context, tx *pg.Tx, b *costing.Book) error {
	if h.Later != nil {
		return books.KeepForLater(ctx, tx, b, h.Later, h.Shop.Now())
	}
	return books.Keep(ctx, tx, b, h.Shop.Now())
}

// open begins the book of some events with what is known before them.
func (h Handler) open(ctx context.Context, st store.Store, events []inbox.Event) (*batch, error) {
	b := &batch{Book: costing.NewBook(h.Rules), currency: h.Shop.Currency}
	known, err := st.Stages(ctx, replanned(events))
	if err != nil {
		return nil, err
	}
	b.Recall(known)
	b.terms, err = st.Terms(ctx, people(events))
	return b, err
}

// Restored implements inbox.Handler: versions may have been issued again with other
// content, so nothing of what was booked can be trusted.
func (h Handler) Restored(ctx context.Context, _ string) error { return h.Rebuild(ctx) }

// batch is the book of some events.
type batch struct {
	*costing.Book
	terms    *costing.Terms
	currency money.Currency
}

// book sends an event to its function. Events that do not matter to the books are named, so that
// a kind from a newer producer is refused rather than passed over.
func (b *batch) book(e inbox.Event) error {
	f := factOf(e)
	switch p := e.Payload.(type) {
	case *eventsv1.Envelope_PieceTakenIn:
		return b.takenIn(f, p.PieceTakenIn)
	case *eventsv1.Envelope_PieceScrapped:
		b.Scrap(f)
	case *eventsv1.Envelope_LotBought:
		return b.lotBought(e, p.LotBought)
	case *eventsv1.Envelope_LotSplitRevised:
		return b.lotRevised(e, p.LotSplitRevised)
	case *eventsv1.Envelope_PurchaseCorrected:
		return b.purchaseCorrected(e, p.PurchaseCorrected)
	case *eventsv1.Envelope_PersonAdded:
		return b.named(e, p.PersonAdded)
	case *eventsv1.Envelope_PersonChanged:
		return b.named(e, p.PersonChanged)
	case *eventsv1.Envelope_ClockedOn:
		return b.clockedOn(f, p.ClockedOn)
	case *eventsv1.Envelope_ClockedOff:
		return b.clockedOff(f, p.ClockedOff)
	case *eventsv1.Envelope_ClockEntryCorrected:
		return b.corrected(f, p.ClockEntryCorrected)
	case *eventsv1.Envelope_ClockEntrySetAside:
		return b.raised(p.ClockEntrySetAside.GetReviewId(), p.ClockEntrySetAside.GetSent())
	case *eventsv1.Envelope_ClockForgotten:
		return b.raised(p.ClockForgotten.GetReviewId(), p.ClockForgotten.GetSpan())
	case *eventsv1.Envelope_ClockReviewSettled:
		return b.settled(p.ClockReviewSettled)
	case *eventsv1.Envelope_SentOut:
		return b.sentOut(f, p.SentOut)
	case *eventsv1.Envelope_OutsideWorkReceived:
		return b.back(f, p.OutsideWorkReceived)
	case *eventsv1.Envelope_OutsideBillCorrected:
		return b.billCorrected(f, p.OutsideBillCorrected)
	case *eventsv1.Envelope_StockReceived:
		return b.received(f, p.StockReceived)
	case *eventsv1.Envelope_MaterialIssued:
		return b.issued(f, p.MaterialIssued)
	case *eventsv1.Envelope_MaterialTakenBack:
		return b.takenBack(f, p.MaterialTakenBack)
	case *eventsv1.Envelope_MaterialReturned:
		return b.cameBack(f, p.MaterialReturned)
	case *eventsv1.Envelope_MaterialWasted:
		return b.wasted(f, p.MaterialWasted)
	case *eventsv1.Envelope_StockCounted:
		return b.counted(f, p.StockCounted)
	case *eventsv1.Envelope_LotCostCorrected:
		return b.lotCorrected(f, p.LotCostCorrected)
	case *eventsv1.Envelope_MaterialRecosted:
		return b.recosted(f, p.MaterialRecosted)
	case *eventsv1.Envelope_StockRecosted:
		return b.stockRecosted(f, p.StockRecosted)
	case *eventsv1.Envelope_StockEntryUndone:
		return b.slip(f, p.StockEntryUndone)
	case *eventsv1.Envelope_PieceListed:
		b.listed(f, p.PieceListed)
	case *eventsv1.Envelope_ListingWithdrawn:
		b.state(f, costing.NotListed, time.Time{})
	case *eventsv1.Envelope_PieceSold:
		return b.sold(f, p.PieceSold)
	case *eventsv1.Envelope_SaleRefunded:
		return b.refunded(f, p.SaleRefunded)
	case *eventsv1.Envelope_DepositTaken:
		return b.deposit(f, p.DepositTaken)
	case *eventsv1.Envelope_DepositSettled:
		return b.depositSettled(f, p.DepositSettled)
	case *eventsv1.Envelope_PaymentReceived:
		return b.paid(f, p.PaymentReceived.GetAmount(), p.PaymentReceived.GetRounding(), 1)
	case *eventsv1.Envelope_PaymentVoided:
		return b.paid(f, p.PaymentVoided.GetAmount(), p.PaymentVoided.GetRounding(), -1)
	case *eventsv1.Envelope_StagesPlanned:
		b.finish(f, p.StagesPlanned.GetRoute())
		return b.planned(f, p.StagesPlanned.GetStages())
	case *eventsv1.Envelope_FinishPlanApproved:
		b.finish(f, p.FinishPlanApproved.GetLook())
		return b.planned(f, p.FinishPlanApproved.GetStages())
	case *eventsv1.Envelope_FinishPlanAmended:
		return b.amended(f, p.FinishPlanAmended)
	case *eventsv1.Envelope_StageFinished:
		return b.stages(f, costing.StageDone, p.StageFinished.GetStageId())
	case *eventsv1.Envelope_StageSentBack:
		return b.sentBack(f, p.StageSentBack)
	case *eventsv1.Envelope_StageInspected:
		return b.inspected(f, p.StageInspected)
	case *eventsv1.Envelope_ComebackOpened:
		return b.cameBackFaulty(f, p.ComebackOpened)
	case *eventsv1.Envelope_ComebackPlanned:
		return b.mending(f, p.ComebackPlanned)
	case *eventsv1.Envelope_ComebackJudged:
		return b.judged(p.ComebackJudged)
	case *eventsv1.Envelope_ComebackClosed:
		return b.mended(f, p.ComebackClosed)
	case *eventsv1.Envelope_RouteSaved, *eventsv1.Envelope_StageAssigned, *eventsv1.Envelope_PartTested,
		*eventsv1.Envelope_PartDryForecastChanged, *eventsv1.Envelope_PartReady, *eventsv1.Envelope_RecoatWindowClosing, *eventsv1.Envelope_DryingObserved,
		*eventsv1.Envelope_DayPlanned, *eventsv1.Envelope_StageRefused, *eventsv1.Envelope_SwapOffered, *eventsv1.Envelope_SwapEnded,
		*eventsv1.Envelope_StageHandedOver, *eventsv1.Envelope_PiecePromised, *eventsv1.Envelope_StationSaved, *eventsv1.Envelope_PieceMoved,
		*eventsv1.Envelope_OutsideWorkChased, *eventsv1.Envelope_BatchFormed, *eventsv1.Envelope_StageLeftBatch, *eventsv1.Envelope_StagePinned, *eventsv1.Envelope_StageUnpinned, *eventsv1.Envelope_PieceLeftFloor, *eventsv1.Envelope_PieceBackOnFloor, *eventsv1.Envelope_WorkStopped, *eventsv1.Envelope_BatchEnded:
	case *eventsv1.Envelope_ProductAdded, *eventsv1.Envelope_ProductDescribed, *eventsv1.Envelope_CoatingSheetSet, *eventsv1.Envelope_StockLow,
		*eventsv1.Envelope_RestockThresholdSet, *eventsv1.Envelope_StockPolicySet, *eventsv1.Envelope_MixUndone,
		*eventsv1.Envelope_LotOpened, *eventsv1.Envelope_LotMoved, *eventsv1.Envelope_LotClosed,
		*eventsv1.Envelope_SupplierSaved, *eventsv1.Envelope_OfferSet, *eventsv1.Envelope_OfferRemoved,
		*eventsv1.Envelope_StockAlertRaised, *eventsv1.Envelope_StockAlertClosed, *eventsv1.Envelope_OrderPlaced, *eventsv1.Envelope_OrderChanged,
		*eventsv1.Envelope_PlaceSaved, *eventsv1.Envelope_OilyWasteConfirmed, *eventsv1.Envelope_OilyWasteCheckWithdrawn,
		*eventsv1.Envelope_EquipmentSaved, *eventsv1.Envelope_EquipmentServiced,
		*eventsv1.Envelope_RecipeSaved, *eventsv1.Envelope_MixMade:
	case *eventsv1.Envelope_AskingPriceChanged, *eventsv1.Envelope_SellingTermsSet, *eventsv1.Envelope_ListingChannelsChanged, *eventsv1.Envelope_MarkdownPlanSet,
		*eventsv1.Envelope_MarkdownPlanDropped, *eventsv1.Envelope_MarkdownStepSkipped, *eventsv1.Envelope_ChannelSet, *eventsv1.Envelope_ChannelRetired,
		*eventsv1.Envelope_PieceHeld, *eventsv1.Envelope_HoldEnded, *eventsv1.Envelope_OfferMade, *eventsv1.Envelope_OfferEnded,
		*eventsv1.Envelope_TaxPlaceSet, *eventsv1.Envelope_TaxPlaceRetired, *eventsv1.Envelope_CashStepSet:
	case *eventsv1.Envelope_PhotoAdded, *eventsv1.Envelope_PhotoDescribed, *eventsv1.Envelope_PhotoRemoved,
		*eventsv1.Envelope_ProspectAdded, *eventsv1.Envelope_ProspectBought, *eventsv1.Envelope_ProspectDeclined, *eventsv1.Envelope_BuyingTermsSet,
		*eventsv1.Envelope_ClientSaved, *eventsv1.Envelope_ClientRetired, *eventsv1.Envelope_CommissionTermsSet, *eventsv1.Envelope_EstimateDrafted,
		*eventsv1.Envelope_EstimateAnswered, *eventsv1.Envelope_ChangeOrderNoted, *eventsv1.Envelope_CommissionCancelled, *eventsv1.Envelope_CommissionPieceBrought, *eventsv1.Envelope_CommissionFinished, *eventsv1.Envelope_LetterheadSet, *eventsv1.Envelope_PartAssessed:
	default:
		return fmt.Errorf("a kind of event that this version does not know; it is booked once costing is as new as %s", e.Producer)
	}
	return nil
}

func factOf(e inbox.Event) costing.Fact {
	return costing.Fact{ID: e.ID, Piece: e.Piece, OccurredAt: e.OccurredAt.AsTime(), RecordedAt: e.RecordedAt.AsTime().Truncate(time.Microsecond)}
}

// amount reads money that must be the shop's and not below zero.
func (b *batch) amount(what string, m *moneyv1.Money) (money.Amount, error) {
	a, err := b.signed(what, m)
	if err == nil && a < 0 {
		err = fmt.Errorf("%s is not an amount: %v", what, m)
	}
	return a, err
}

// signed reads money that must be the shop's and may be below zero.
func (b *batch) signed(what string, m *moneyv1.Money) (money.Amount, error) {
	if m == nil {
		return 0, nil
	}
	if m.CurrencyCode != b.currency.Code {
		return 0, fmt.Errorf("%s is in %q, but the books are in %s", what, m.CurrencyCode, b.currency.Code)
	}
	a, ok := wire.FromMoney(m, b.currency.Digits)
	if !ok {
		return 0, fmt.Errorf("%s is not an amount: %v", what, m)
	}
	return a, nil
}
