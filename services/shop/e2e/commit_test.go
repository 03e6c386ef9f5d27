package e2e_test

import (
	"context"
	"testing"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

func asOwner(t *testing.T) context.Context { return caller.With(t.Context(), owner) }

func newPiece(tag int32) *intakev1.TakeInPieceRequest {
	return &intakev1.TakeInPieceRequest{RequestId: id.New().String(), Tag: tag, Title: "Stool", Kind: "stool",
		Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: &moneyv1.Money{CurrencyCode: "USD", Units: 25}, Source: "kerb"}},
		Parts:  []*intakev1.Part{{Label: "seat"}}}
}

// commitOne gives a service one command that it will commit and then die over, so its
// answer may be lost.
func commitOne(t *testing.T, shop *client.Shop, name string) {
	t.Helper()
	ctx := asOwner(t)
	switch name {
	case "intake":
		_, _ = shop.Intake.TakeInPiece(ctx, newPiece(900))
	case "workflow":
		_, _ = shop.People.AddPerson(ctx, &workflowv1.AddPersonRequest{RequestId: id.New().String(), DisplayName: "Nell"})
	case "materials":
		product, err := shop.Product(ctx, "Gel stripper")
		if err != nil {
			t.Fatal(err)
		}
		_, _ = shop.Materials.ReceiveStock(ctx, &materialsv1.ReceiveStockRequest{RequestId: id.New().String(), Product: product.Name,
			Amount: &materialsv1.ReceiveStockRequest_Quantity{Quantity: &typev1.Quantity{Value: "1", Unit: "gal"}}, Cost: &moneyv1.Money{CurrencyCode: "USD", Units: 51}})
	case "sales":
		piece, err := shop.Piece(ctx, "104")
		if err != nil {
			t.Fatal(err)
		}
		_, _ = shop.Sales.SellPiece(ctx, &salesv1.SellPieceRequest{RequestId: id.New().String(), Piece: piece.Name, Price: &moneyv1.Money{CurrencyCode: "USD", Units: 690}})
	}
}

// costOf reads the cost of a piece by its tag; nil while the books do not know it.
func costOf(t *testing.T, shop *client.Shop, tag string) *costingv1.PieceCost {
	t.Helper()
	piece, err := shop.Piece(t.Context(), tag)
	if err != nil {
		return nil
	}
	r, err := shop.Costing.GetPieceCost(t.Context(), &costingv1.GetPieceCostRequest{Piece: piece.Name})
	if err != nil {
		return nil
	}
	return r.PieceCost
}

// ledger reads the balance of an account.
func ledger(t *testing.T, shop *client.Shop, account string) money.Amount {
	t.Helper()
	r, err := shop.Costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range r.Accounts {
		if a.Account == account {
			amount, _ := wire.FromMoney(a.Balance, 2)
			return amount
		}
	}
	return 0
}
