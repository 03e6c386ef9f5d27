package server_test

import (
	"context"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// What a piece or a lot was bought for is told to owners alone, whichever answer it stands in; all else is told to
// whoever may ask. A lead takes pieces in at a price, and it is kept, but not told them again.
func TestServer_TellsWhatWasPaidToOwnersAlone(t *testing.T) {
	b := setup(t)
	pieces, lots, log := intakev1.NewIntakeServiceClient(b.Edge), intakev1.NewLotServiceClient(b.Edge), eventsv1.NewEventLogServiceClient(b.Edge)
	own, joint := b.take(t, dresser()), b.takeLot(t, house()).Lot
	if own.GetPurchase().GetPrice() == nil || joint.Terms[0].Price == nil || joint.Terms[0].Shares[0].Share == nil {
		t.Fatalf("on the shop's own machine the price is not told: %v, %v", own, joint)
	}
	const helper, lead, owner = typev1.Role_ROLE_HELPER, typev1.Role_ROLE_LEAD, typev1.Role_ROLE_OWNER
	for name, c := range map[string]struct {
		least typev1.Role
		ask   func(context.Context) (paid []proto.Message, source string, err error)
	}{
		"GetPiece": {helper, func(ctx context.Context) ([]proto.Message, string, error) {
			r, err := pieces.GetPiece(ctx, &intakev1.GetPieceRequest{Name: own.Name})
			return []proto.Message{r.GetPiece().GetPurchase().GetPrice()}, r.GetPiece().GetPurchase().GetSource(), err
		}},
		"ListPieces": {helper, func(ctx context.Context) ([]proto.Message, string, error) {
			r, err := pieces.ListPieces(ctx, &intakev1.ListPiecesRequest{})
			all := []proto.Message{}
			for _, p := range r.GetPieces() {
				all = append(all, p.GetPurchase().GetPrice())
			}
			return all, r.GetPieces()[0].GetPurchase().GetSource(), err
		}},
		"ListPieceEvents": {helper, func(ctx context.Context) ([]proto.Message, string, error) {
			r, err := log.ListPieceEvents(ctx, &eventsv1.ListPieceEventsRequest{Piece: own.Name})
			in := r.GetEvents()[0].GetPieceTakenIn()
			return []proto.Message{in.GetPurchase().GetPrice()}, in.GetPurchase().GetSource(), err
		}},
		"GetLot": {lead, func(ctx context.Context) ([]proto.Message, string, error) {
			r, err := lots.GetLot(ctx, &intakev1.GetLotRequest{Name: joint.Name})
			terms := r.GetLot().GetTerms()[0]
			return []proto.Message{terms.Price, terms.Shares[0].Share, terms.Shares[0].ExpectedValue}, r.GetLot().GetSource(), err
		}},
		"ListLots": {lead, func(ctx context.Context) ([]proto.Message, string, error) {
			r, err := lots.ListLots(ctx, &intakev1.ListLotsRequest{})
			return []proto.Message{r.GetLots()[0].Terms[0].Price, r.GetLots()[0].Terms[0].Shares[0].Share}, r.GetLots()[0].GetSource(), err
		}},
		"TakeInPiece": {lead, func(ctx context.Context) ([]proto.Message, string, error) {
			r, err := pieces.TakeInPiece(ctx, dresser())
			return []proto.Message{r.GetPiece().GetPurchase().GetPrice()}, r.GetPiece().GetPurchase().GetSource(), err
		}},
		"TakeInLot": {lead, func(ctx context.Context) ([]proto.Message, string, error) {
			again := house()
			again.RequestId = svctest.NewID()
			r, err := lots.TakeInLot(ctx, again)
			return []proto.Message{r.GetLot().GetTerms()[0].Price, r.GetPieces()[0].GetPurchase().GetPrice()}, r.GetLot().GetSource(), err
		}},
		"ScrapPiece": {lead, func(ctx context.Context) ([]proto.Message, string, error) {
			r, err := pieces.ScrapPiece(ctx, &intakev1.ScrapPieceRequest{RequestId: svctest.NewID(), Piece: b.take(t, dresser()).Name, Reason: "beetles"})
			return []proto.Message{r.GetPiece().GetPurchase().GetPrice()}, r.GetPiece().GetPurchase().GetSource(), err
		}},
	} {
		for _, role := range []typev1.Role{helper, lead, owner} {
			if role < c.least {
				continue
			}
			paid, source, err := c.ask(b.As(t, role))
			if err != nil || source == "" {
				t.Errorf("%s as %v: from %q, %v", name, role, source, err)
			}
			for _, p := range paid {
				if p.ProtoReflect().IsValid() != (role == owner) {
					t.Errorf("%s as %v tells %v", name, role, p)
				}
			}
		}
	}
	if r, err := pieces.ListPieces(svctest.Ctx(t), &intakev1.ListPiecesRequest{}); !fault.Is(err, "SIGN_IN_NEEDED") {
		t.Errorf("whoever has not signed in is told %v, %v", r, err)
	}
	// What a lead typed stands in the books.
	if last, err := b.GetPiece(t.Context(), &intakev1.GetPieceRequest{Name: "pieces/tag:1"}); err != nil || last.Piece.GetPurchase().GetPrice().GetUnits() != 45 {
		t.Errorf("the shop's own machine is told %v, %v", last, err)
	}
}

// The whole log, and what it holds encoded, is for owners.
func TestServer_KeepsItsLogForOwners(t *testing.T) {
	b := setup(t)
	b.take(t, dresser())
	log := eventsv1.NewEventLogServiceClient(b.Edge)
	for _, encoded := range []bool{false, true} {
		for _, role := range []typev1.Role{typev1.Role_ROLE_HELPER, typev1.Role_ROLE_LEAD} {
			if r, err := log.ListEvents(b.As(t, role), &eventsv1.ListEventsRequest{Encoded: encoded}); !fault.Is(err, "ROLE_TOO_LOW") {
				t.Errorf("%v is told %v, %v", role, r, err)
			}
		}
	}
	if r, err := log.ListEvents(b.As(t, typev1.Role_ROLE_OWNER), &eventsv1.ListEventsRequest{}); err != nil || r.Events[0].GetPieceTakenIn().GetPurchase().GetPrice() == nil {
		t.Errorf("an owner is told %v, %v", r, err)
	}
}
