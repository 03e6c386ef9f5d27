// Package consume is how needs follow what is planned: one file for each producer, one function
// for each of its events that says what a piece needs, when, or that it needs it no more.
//
//	approved, amended ──▶ needs of each stage, product and pass ──▶ what is reserved, and when
//	finished, sent back ─▶ done; open anew in the next pass        it is wanted
//	given up, sold ─────▶ dropped
//	finished ───────────▶ what the shop really takes, learned from what was issued
package consume

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// Handler keeps needs; it implements inbox.Handler.
type Handler struct {
	// Changed is told, after the commit, of which products needs became otherwise, and of none when
	// something was worked; nil tells nobody.
	Changed func([]id.ID)
	// Rebuild computes the needs anew after a producer came back from a backup.
	Rebuild func(context.Context) error
	// Zone is the shop's, for the days on which work made oily waste; nil: UTC.
	Zone *time.Location
}

// Apply implements inbox.Handler.
func (h Handler) Apply(ctx context.Context, tx *pg.Tx, events []inbox.Event) error {
	st := store.New(tx)
	pieces, err := st.PieceNeeds(ctx, piecesOf(events))
	if err != nil {
		return err
	}
	b := &batch{pieces: pieces, heard: map[id.ID]bool{}, methods: map[string]bool{}}
	for _, e := range events {
		if err := b.note(e); err != nil {
			return fmt.Errorf("event %s: %w", e.EventId, err)
		}
	}
	if err := h.keep(ctx, tx, b); err != nil {
		return err
	}
	worked, err := noteWork(ctx, st, events, h.Zone)
	if worked && h.Changed != nil {
		tx.After(func() { h.Changed(nil) }) // of no product: what ran, and oily waste
	}
	return err
}

// Restored implements inbox.Handler: versions may have been issued again with other content, so
// nothing of what was noted can be trusted.
func (h Handler) Restored(ctx context.Context, _ string) error { return h.Rebuild(ctx) }

// keep writes the pieces that were heard of and what is learned from the stages that were
// finished, and tells of which products that changes what is reserved.
func (h Handler) keep(ctx context.Context, tx *pg.Tx, b *batch) error {
	if len(b.heard) == 0 {
		return nil
	}
	st, products := store.New(tx), map[id.ID]bool{}
	if err := st.LockNeeds(ctx); err != nil {
		return err
	}
	for piece := range b.heard {
		p := b.pieces[piece]
		p.Reckon()
		for _, n := range p.Touched() {
			products[n.Product] = true
		}
		if err := st.SavePieceNeeds(ctx, p); err != nil {
			return err
		}
	}
	if err := st.Learn(ctx, sorted(b.methods)); err != nil {
		return err
	}
	moved, err := st.SetQuantities(ctx)
	for _, product := range moved {
		products[product] = true
	}
	if h.Changed != nil && len(products) > 0 {
		tx.After(func() { h.Changed(sortedIDs(products)) })
	}
	return err
}

// batch is what some events tell of some pieces.
type batch struct {
	pieces  map[id.ID]*materials.PieceNeeds
	heard   map[id.ID]bool  // what they say changes these
	methods map[string]bool // by which what was finished was put on
}

// piece is the one that an event is about.
func (b *batch) piece(e inbox.Event) (*materials.PieceNeeds, error) {
	p := b.pieces[e.Piece]
	if e.Piece == id.Nil || p == nil {
		return nil, fmt.Errorf("it is about no piece")
	}
	b.heard[e.Piece] = true
	return p, nil
}

// note sends an event to its function. Events from which no need follows are named, so that a
// kind from a newer producer is refused rather than passed over.
func (b *batch) note(e inbox.Event) error {
	switch p := e.Payload.(type) {
	case *eventsv1.Envelope_StagesPlanned:
		return b.planned(e, p.StagesPlanned.GetStages())
	case *eventsv1.Envelope_FinishPlanApproved:
		return b.planned(e, p.FinishPlanApproved.GetStages())
	case *eventsv1.Envelope_FinishPlanAmended:
		return b.amended(e, p.FinishPlanAmended)
	case *eventsv1.Envelope_ComebackPlanned:
		return b.mending(e, p.ComebackPlanned.GetStages())
	case *eventsv1.Envelope_ComebackClosed:
		return b.mended(e, p.ComebackClosed)
	case *eventsv1.Envelope_StageFinished:
		return b.finished(e, p.StageFinished)
	case *eventsv1.Envelope_StageSentBack:
		return b.sentBack(e, p.StageSentBack)
	case *eventsv1.Envelope_PiecePromised:
		return b.promised(e, p.PiecePromised)
	case *eventsv1.Envelope_WorkStopped, *eventsv1.Envelope_PieceScrapped:
		return b.stopped(e)
	case *eventsv1.Envelope_PieceSold:
		return b.sold(e)
	case *eventsv1.Envelope_PieceTakenIn, *eventsv1.Envelope_LotBought, *eventsv1.Envelope_LotSplitRevised, *eventsv1.Envelope_PurchaseCorrected,
		*eventsv1.Envelope_PhotoAdded, *eventsv1.Envelope_PhotoDescribed, *eventsv1.Envelope_PhotoRemoved,
		*eventsv1.Envelope_ProspectAdded, *eventsv1.Envelope_ProspectBought, *eventsv1.Envelope_ProspectDeclined, *eventsv1.Envelope_BuyingTermsSet,
		*eventsv1.Envelope_ClientSaved, *eventsv1.Envelope_ClientRetired, *eventsv1.Envelope_CommissionTermsSet, *eventsv1.Envelope_EstimateDrafted,
		*eventsv1.Envelope_EstimateAnswered, *eventsv1.Envelope_ChangeOrderNoted, *eventsv1.Envelope_CommissionCancelled, *eventsv1.Envelope_CommissionPieceBrought, *eventsv1.Envelope_CommissionFinished, *eventsv1.Envelope_LetterheadSet, *eventsv1.Envelope_PartAssessed,
		*eventsv1.Envelope_SellingTermsSet,
		*eventsv1.Envelope_PieceListed, *eventsv1.Envelope_AskingPriceChanged, *eventsv1.Envelope_SaleRefunded,
		*eventsv1.Envelope_ListingWithdrawn, *eventsv1.Envelope_ListingChannelsChanged, *eventsv1.Envelope_MarkdownPlanSet,
		*eventsv1.Envelope_MarkdownPlanDropped, *eventsv1.Envelope_MarkdownStepSkipped, *eventsv1.Envelope_ChannelSet, *eventsv1.Envelope_ChannelRetired,
		*eventsv1.Envelope_TaxPlaceSet, *eventsv1.Envelope_TaxPlaceRetired, *eventsv1.Envelope_PaymentReceived, *eventsv1.Envelope_PaymentVoided, *eventsv1.Envelope_CashStepSet,
		*eventsv1.Envelope_DepositTaken, *eventsv1.Envelope_DepositSettled, *eventsv1.Envelope_PieceHeld, *eventsv1.Envelope_HoldEnded, *eventsv1.Envelope_OfferMade, *eventsv1.Envelope_OfferEnded,
		*eventsv1.Envelope_PersonAdded, *eventsv1.Envelope_PersonChanged, *eventsv1.Envelope_RouteSaved, *eventsv1.Envelope_StageAssigned, *eventsv1.Envelope_StageHandedOver,
		*eventsv1.Envelope_ClockedOn, *eventsv1.Envelope_ClockedOff, *eventsv1.Envelope_ClockEntryCorrected,
		*eventsv1.Envelope_ClockForgotten, *eventsv1.Envelope_ClockEntrySetAside, *eventsv1.Envelope_ClockReviewSettled,
		*eventsv1.Envelope_PartTested, *eventsv1.Envelope_PartDryForecastChanged, *eventsv1.Envelope_PartReady, *eventsv1.Envelope_RecoatWindowClosing, *eventsv1.Envelope_DryingObserved,
		*eventsv1.Envelope_StationSaved, *eventsv1.Envelope_PieceMoved, *eventsv1.Envelope_StageInspected,
		*eventsv1.Envelope_SentOut, *eventsv1.Envelope_OutsideWorkChased, *eventsv1.Envelope_OutsideWorkReceived, *eventsv1.Envelope_OutsideBillCorrected,
		*eventsv1.Envelope_BatchFormed, *eventsv1.Envelope_BatchEnded, *eventsv1.Envelope_StageLeftBatch,
		*eventsv1.Envelope_DayPlanned, *eventsv1.Envelope_StageRefused, *eventsv1.Envelope_SwapOffered, *eventsv1.Envelope_SwapEnded,
		*eventsv1.Envelope_StagePinned, *eventsv1.Envelope_StageUnpinned, *eventsv1.Envelope_PieceLeftFloor, *eventsv1.Envelope_PieceBackOnFloor,
		*eventsv1.Envelope_ComebackOpened, *eventsv1.Envelope_ComebackJudged:
	default:
		return fmt.Errorf("a kind of event that this version does not know; it is noted once materials is as new as %s", e.Producer)
	}
	return nil
}

func at(e inbox.Event) time.Time { return e.OccurredAt.AsTime().Truncate(time.Microsecond) }

func piecesOf(events []inbox.Event) []id.ID {
	pieces := map[id.ID]bool{}
	for _, e := range events {
		if e.Piece != id.Nil {
			pieces[e.Piece] = true
		}
	}
	return sortedIDs(pieces)
}

func sortedIDs(set map[id.ID]bool) []id.ID {
	out := make([]id.ID, 0, len(set))
	for i := range set {
		out = append(out, i)
	}
	slices.SortFunc(out, id.Compare)
	return out
}

func sorted(set map[string]bool) (out []string) {
	for word := range set {
		out = append(out, word)
	}
	return slices.Sorted(slices.Values(out))
}
