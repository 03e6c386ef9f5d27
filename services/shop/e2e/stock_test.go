package e2e_test

import (
	"context"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// hand is somebody who works with the stock of a shop, and stops the test at what is refused.
type hand struct {
	*testing.T
	*client.Shop
	ctx context.Context
}

func stockhand(t *testing.T, shop *client.Shop) hand {
	return hand{t, shop, caller.With(t.Context(), caller.Caller{Actor: "Lead"})}
}

// done gives an answer that has to come.
func done[T any](h hand) func(T, error) T {
	return func(answer T, err error) T {
		h.Helper()
		if err != nil {
			h.Fatal(err)
		}
		return answer
	}
}

func newID() string { return id.New().String() }

func dollars(units int64) *moneyv1.Money { return &moneyv1.Money{CurrencyCode: "USD", Units: units} }

func measure(value, unit string) *typev1.Quantity { return &typev1.Quantity{Value: value, Unit: unit} }

// ago is some hours before now.
func ago(hours int) *timestamppb.Timestamp {
	return timestamppb.New(time.Now().Add(-time.Duration(hours) * time.Hour))
}

func (h hand) product(name, unit string) string {
	h.Helper()
	return done[*materialsv1.AddProductResponse](h)(h.Materials.AddProduct(h.ctx, &materialsv1.AddProductRequest{RequestId: newID(), DisplayName: name, Unit: unit,
		Packages: []*materialsv1.Package{{Label: "can", Content: measure("1", unit)}}})).Product.Name
}

func cans(product string, count int32, cost int64) *materialsv1.DeliveryLine {
	return &materialsv1.DeliveryLine{Product: product, Cost: dollars(cost),
		Amount: &materialsv1.DeliveryLine_Packages{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: "can", Count: count}}}
}

func (h hand) deliver(hours int, freight int64, lines ...*materialsv1.DeliveryLine) []*materialsv1.Lot {
	h.Helper()
	return done[*materialsv1.ReceiveDeliveryResponse](h)(h.Stock.ReceiveDelivery(h.ctx, &materialsv1.ReceiveDeliveryRequest{RequestId: newID(), Lines: lines,
		Freight: dollars(freight), Supplier: "Corner paint shop", ReceiveTime: ago(hours)})).Lots
}

func (h hand) issue(product, amount, stage string, hours int) *materialsv1.Issue {
	h.Helper()
	return done[*materialsv1.IssueMaterialResponse](h)(h.Materials.IssueMaterial(h.ctx, &materialsv1.IssueMaterialRequest{RequestId: newID(), Product: product,
		Quantity: measure(amount, "L"), Stage: stage, IssueTime: ago(hours)})).Issue
}

// aStage is one of a piece that was not given up.
func (h hand) aStage() string {
	h.Helper()
	board, err := h.Floor.ListBoard(h.ctx, &workflowv1.ListBoardRequest{PageSize: 1000})
	if err != nil {
		h.Fatal(err)
	}
	for _, line := range board.Lines {
		for _, next := range line.Next {
			return next.Stage
		}
	}
	h.Fatal("nothing on the board has a stage")
	return ""
}

// stocks does all that can be done with stock in the past two days.
func (h hand) stocks() {
	stage := h.aStage()
	done[*materialsv1.AddSupplierResponse](h)(h.Suppliers.AddSupplier(h.ctx, &materialsv1.AddSupplierRequest{RequestId: newID(), DisplayName: "Corner paint shop", LeadDays: 2}))
	walnut, amber, warm := h.product("Walnut stain", "L"), h.product("Amber stain", "L"), h.product("Warm walnut", "L")
	place := done[*materialsv1.SavePlaceResponse](h)(h.Storage.SavePlace(h.ctx, &materialsv1.SavePlaceRequest{RequestId: newID(),
		Place: &materialsv1.Place{Name: "places/yellow-cabinet", DisplayName: "Yellow cabinet", Kind: materialsv1.Place_KIND_CABINET}})).Place
	lots := h.deliver(40, 7, cans(walnut, 3, 60), cans(amber, 2, 50))
	h.lots(lots[0], place.Name)
	issue := h.issue(walnut, "1.25", stage, 30)
	done[*materialsv1.ReturnMaterialResponse](h)(h.Stock.ReturnMaterial(h.ctx, &materialsv1.ReturnMaterialRequest{RequestId: newID(), Issue: issue.Name,
		Quantity: measure("0.333", "L"), ReturnTime: ago(29)}))
	h.wastes(walnut, stage)
	h.mixes(walnut, amber, warm, stage)
	done[*materialsv1.CountStockResponse](h)(h.Stock.CountStock(h.ctx, &materialsv1.CountStockRequest{RequestId: newID(), Product: amber, Quantity: measure("1.5", "L"), CountTime: ago(10)}))
	h.deliver(41, 0, cans(walnut, 1, 5), cans(amber, 1, 5)) // before all that: everything after it costs something else
	done[*materialsv1.CorrectLotCostResponse](h)(h.Stock.CorrectLotCost(h.ctx, &materialsv1.CorrectLotCostRequest{RequestId: newID(), Lot: lots[1].Name,
		Cost: dollars(48), Reason: "the bill says so"}))
	done[*materialsv1.CloseLotResponse](h)(h.Stock.CloseLot(h.ctx, &materialsv1.CloseLotRequest{RequestId: newID(), Lot: lots[1].Name, Reason: "skinned over"}))
}

func (h hand) lots(lot *materialsv1.Lot, place string) {
	h.Helper()
	done[*materialsv1.OpenPackageResponse](h)(h.Stock.OpenPackage(h.ctx, &materialsv1.OpenPackageRequest{RequestId: newID(), Lot: lot.Name, OpenTime: ago(39),
		Amount: &materialsv1.OpenPackageRequest_Packages{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: "can", Count: 1}}}))
	done[*materialsv1.MoveLotResponse](h)(h.Stock.MoveLot(h.ctx, &materialsv1.MoveLotRequest{RequestId: newID(), Lot: lot.Name, Quantity: measure("1", "L"), Place: place, MoveTime: ago(38)}))
}

// orders asks a supplier for what is low, gets a part of it and gives up the rest; what was low is
// so no longer.
func (h hand) orders() {
	h.Helper()
	product := h.product("Steel wool", "each")
	done[*materialsv1.SetRestockThresholdResponse](h)(h.Materials.SetRestockThreshold(h.ctx, &materialsv1.SetRestockThresholdRequest{RequestId: newID(),
		Product: product, RestockThreshold: measure("2", "each")}))
	eventually(h.T, "an alert that it is low", func() bool { return h.alerts(product) > 0 })
	supplier := done[*materialsv1.AddSupplierResponse](h)(h.Suppliers.AddSupplier(h.ctx, &materialsv1.AddSupplierRequest{RequestId: newID(), DisplayName: "Abrasives by post", LeadDays: 3})).Supplier
	order := done[*materialsv1.PlaceOrderResponse](h)(h.Orders.PlaceOrder(h.ctx, &materialsv1.PlaceOrderRequest{RequestId: newID(), Supplier: supplier.Name,
		Lines: []*materialsv1.PlaceOrderRequest_Line{{Product: product, PackageLabel: "can", Packages: 5, Price: dollars(4)}}, OrderTime: ago(72)})).Order
	line := cans(product, 3, 12)
	line.OrderLine = order.Name + "/lines/1"
	h.deliver(1, 0, line)
	done[*materialsv1.CloseOrderResponse](h)(h.Orders.CloseOrder(h.ctx, &materialsv1.CloseOrderRequest{RequestId: newID(), Name: order.Name, Reason: "out of stock there"}))
	eventually(h.T, "no alert any more", func() bool { return h.alerts(product) == 0 })
}

// alerts counts those that are open of a product.
func (h hand) alerts(product string) (n int) {
	r, err := h.Restock.ListAlerts(h.ctx, &materialsv1.ListAlertsRequest{PageSize: 1000})
	if err != nil {
		h.Fatal(err)
	}
	for _, a := range r.Alerts {
		if a.Product == product {
			n++
		}
	}
	return n
}

func (h hand) equips() {
	h.Helper()
	sprayer := done[*materialsv1.SaveEquipmentResponse](h)(h.Equipment.SaveEquipment(h.ctx, &materialsv1.SaveEquipmentRequest{RequestId: newID(),
		Equipment: &materialsv1.Equipment{DisplayName: "Turbine 2", Kind: "sprayer", HourlyCost: dollars(3), ServiceHours: 50, StageKinds: []string{"topcoat_coat"}}})).Equipment
	done[*materialsv1.RecordServiceResponse](h)(h.Equipment.RecordService(h.ctx, &materialsv1.RecordServiceRequest{RequestId: newID(), Equipment: sprayer.Name, ServicedBy: "Lead"}))
}

// confirms says what became of oily rags, and takes it back.
func (h hand) confirms() {
	h.Helper()
	word := done[*materialsv1.ConfirmOilyWasteResponse](h)(h.Storage.ConfirmOilyWaste(h.ctx, &materialsv1.ConfirmOilyWasteRequest{RequestId: newID(), Way: materialsv1.OilyWasteWay_OILY_WASTE_WAY_METAL_CAN})).Check
	done[*materialsv1.WithdrawOilyWasteCheckResponse](h)(h.Storage.WithdrawOilyWasteCheck(h.ctx, &materialsv1.WithdrawOilyWasteCheckRequest{RequestId: newID(), Name: word.Name, Reason: "one can was forgotten"}))
}

// averages has a shop count by the moving average.
func (h hand) averages() {
	h.Helper()
	done[*materialsv1.SetStockPolicyResponse](h)(h.Stock.SetStockPolicy(h.ctx, &materialsv1.SetStockPolicyRequest{RequestId: newID(), CostMethod: materialsv1.CostMethod_COST_METHOD_MOVING_AVERAGE}))
}

func (h hand) wastes(product, stage string) {
	h.Helper()
	for cause, at := range map[materialsv1.WasteCause]string{materialsv1.WasteCause_WASTE_CAUSE_HOSE: stage, materialsv1.WasteCause_WASTE_CAUSE_SPILT: ""} {
		done[*materialsv1.RecordWasteResponse](h)(h.Stock.RecordWaste(h.ctx, &materialsv1.RecordWasteRequest{RequestId: newID(), Product: product,
			Quantity: measure("0.1", "L"), Cause: cause, Stage: at, WasteTime: ago(20)}))
	}
	slip := done[*materialsv1.RecordWasteResponse](h)(h.Stock.RecordWaste(h.ctx, &materialsv1.RecordWasteRequest{RequestId: newID(), Product: product,
		Quantity: measure("0.3", "L"), Cause: materialsv1.WasteCause_WASTE_CAUSE_HOSE, Stage: stage, WasteTime: ago(19)})).Movement
	done[*materialsv1.UndoEntryResponse](h)(h.Stock.UndoEntry(h.ctx, &materialsv1.UndoEntryRequest{RequestId: newID(), Entry: slip.Name, Reason: "30 mL, not 300"}))
}

func (h hand) mixes(walnut, amber, warm, stage string) {
	h.Helper()
	part := func(product, parts string) *materialsv1.Recipe_Part {
		return &materialsv1.Recipe_Part{Product: product, Share: &materialsv1.Recipe_Part_Parts{Parts: parts}}
	}
	recipe := done[*materialsv1.SaveRecipeResponse](h)(h.Mixes.SaveRecipe(h.ctx, &materialsv1.SaveRecipeRequest{RequestId: newID(),
		Recipe: &materialsv1.Recipe{DisplayName: "Warm walnut", Makes: warm, Parts: []*materialsv1.Recipe_Part{part(walnut, "3"), part(amber, "1")}}})).Recipe
	done[*materialsv1.MakeMixResponse](h)(h.Mixes.MakeMix(h.ctx, &materialsv1.MakeMixRequest{RequestId: newID(), By: &materialsv1.MakeMixRequest_Recipe{Recipe: recipe.Name},
		Quantity: measure("1", "L"), MixTime: ago(15)}))
	h.issue(warm, "0.6", stage, 14)
	wrong := done[*materialsv1.MakeMixResponse](h)(h.Mixes.MakeMix(h.ctx, &materialsv1.MakeMixRequest{RequestId: newID(), By: &materialsv1.MakeMixRequest_Recipe{Recipe: recipe.Name},
		Quantity: measure("0.1", "L"), MixTime: ago(13)})).Mix
	done[*materialsv1.UndoMixResponse](h)(h.Mixes.UndoMix(h.ctx, &materialsv1.UndoMixRequest{RequestId: newID(), Name: wrong.Name, Reason: "twice"}))
}

// Whatever is done with stock, in whichever order it is written down and however a shop counts: what
// the ledger has on hand is what is on the shelves, and a fresh rebuild says the same.
func TestStock_TheBooksAgreeWithTheShelves(t *testing.T) {
	for name, chosen := range map[string]func(hand){"FirstInFirstOut": func(hand) {}, "MovingAverage": hand.averages} {
		t.Run(name, func(t *testing.T) {
			s := open(t, nil)
			h := stockhand(t, s.Shop)
			chosen(h)
			play(t, s.Shop, func(int, int) {})
			h.stocks()
			h.orders()
			h.equips()
			verified(t, s.Shop)
			h.agrees()
		})
	}
}

// agrees compares the ledger with the shelves.
func (h hand) agrees() {
	h.Helper()
	all := done[*costingv1.GetShopCostResponse](h)(h.Costing.GetShopCost(h.ctx, &costingv1.GetShopCostRequest{}))
	var sum, onHand, value money.Amount
	for _, a := range all.Accounts {
		balance, _ := wire.FromMoney(a.Balance, 2)
		sum += balance
		if a.Account == "materials_on_hand" {
			onHand = balance
		}
	}
	products, err := h.AllProducts(h.ctx)
	if err != nil {
		h.Fatal(err)
	}
	for _, p := range products {
		worth, _ := wire.FromMoney(p.Value, 2)
		value += worth
	}
	if sum != 0 || onHand != value {
		h.Errorf("the accounts add up to %d; on hand in the ledger %d, on the shelves %d", sum, onHand, value)
	}
}
