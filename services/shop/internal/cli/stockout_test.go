package cli

import (
	"context"
	"testing"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func TestIssue_OfALotThatHasExpired(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.shelf.mixes = []*materialsv1.Mix{{Name: "mixes/7", Number: 12, Lot: &materialsv1.Lot{Name: "products/k/lots/01"}}}
	want := &materialsv1.IssueMaterialRequest{Product: "products/k", Quantity: amount("100", "mL"), Stage: "pieces/a/stages/2", Lot: "products/k/lots/01", OverrideReason: "tried on scrap"}
	for _, lot := range []string{"01", "a12", "products/k/lots/01", "'mix 12'"} {
		f.gives(t, line("stock issue 'Clear coat' 100mL 1 'sand (case)' --override 'tried on scrap' --lot "+lot), want)
	}
	f.refuses(t, line("stock issue 'Clear coat' 100mL 1 'sand (case)' --lot 02"), "there is no lot 02 of Clear coat; `shop stock lots \"Clear coat\"` lists them")
	f.refuses(t, line("stock issue 'Clear coat' 100mL 1 'sand (case)' --lot 'mix 13'"), "there is no mix 13")
	f.shelf.lots = append(f.shelf.lots, &materialsv1.Lot{Name: "products/k/lots/02", BatchCode: "A12"})
	f.refuses(t, line("stock issue 'Clear coat' 100mL 1 'sand (case)' --lot A12"), "several lots of Clear coat have the number A12")
}

func TestReturn_Waste_Count(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.products[0].OnHand, f.products[0].Value = amount("0.9", "L"), usd(30_00)
	f.issues = []*materialsv1.Issue{{Name: "products/k/issues/0a2", ProductName: "Clear coat", Stage: "pieces/a/stages/2", Returned: amount("0.05", "L"), OverrideReason: "tried on scrap"}}
	f.says(t, line("stock issues"), "0.05 L came back; expired: tried on scrap\n")
	f.shelf.recosted = []*materialsv1.Recosting{{ProductName: "Clear coat", Stage: "pieces/a/stages/3", Purpose: "issue", OldCost: usd(3_80), NewCost: usd(3_95)}}
	anew := "Counted anew: sand (drawers) of piece 1, issue of Clear coat: 3.80 before, 3.95 now.\n"
	f.gives(t, line("stock return 0a2 50mL --note 'not needed' --at '2026-03-02 12:00'"),
		&materialsv1.ReturnMaterialRequest{Issue: "products/k/issues/0a2", Quantity: amount("50", "mL"), Note: "not needed", ReturnTime: middayPlus(0)})
	f.says(t, line("stock return 0a2 50mL"), "50 mL of Clear coat came back, worth 1.90; 0.9 L on hand.\n"+anew)
	f.gives(t, line("stock waste 'Clear coat' 30mL gun-cleaning 1 'sand (case)' --lot 01"), &materialsv1.RecordWasteRequest{Product: "products/k", Quantity: amount("30", "mL"),
		Cause: materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING, Stage: "pieces/a/stages/2", Lot: "products/k/lots/01"})
	f.says(t, line("stock waste 'Clear coat' 30mL hose 1 'sand (case)'"), "30 mL of Clear coat are waste, worth 1.14, at the cost of piece 1; 0.9 L left.\n"+anew)
	f.says(t, line("stock waste 'Clear coat' 30mL spilt --note 'lid'"), "at the cost of the shop; 0.9 L left.\n")
	f.refuses(t, line("stock waste 'Clear coat' 30mL lost"), `"lost" is none of: gun-cleaning, hose, left-over, expired, spoilt, spilt`)
	f.refuses(t, line("stock waste 'Clear coat' 30mL hose 1"), "say the piece and its stage, or neither")
	f.refuses(t, line("stock waste 'Clear coat' 30 hose"), "is not an amount with a unit")
	f.gives(t, line("stock count 'Clear coat' 0L --lot A12 --reason 'left open'"), &materialsv1.CountStockRequest{Product: "products/k", Quantity: amount("0", "L"), Lot: "products/k/lots/01", Reason: "left open"})
	f.says(t, line("stock count 'Clear coat' 900mL"), "900 mL of Clear coat were counted: 0.1 L missing, worth 3.80; 0.9 L on hand, worth 30.00.\n"+anew)
	for difference, want := range map[string]string{"0": "as was expected", "0.000": "as was expected", "0.25": "0.25 L too much, worth 3.80"} {
		if got := counted(&materialsv1.CountStockResponse{Difference: amount(difference, "L"), Movement: &materialsv1.Movement{Cost: usd(3_80)}}); got != want {
			t.Errorf("counted(%s L) = %q, want %q", difference, got, want)
		}
	}
}

func TestLots(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	open, lot := "stock open 'Clear coat' ", "products/k/lots/01"
	f.gives(t, line(open), &materialsv1.OpenPackageRequest{Lot: lot})
	f.gives(t, line(open+"--package 'quart can' --at '2026-03-02 12:00'"), &materialsv1.OpenPackageRequest{Lot: lot, OpenTime: middayPlus(0),
		Amount: &materialsv1.OpenPackageRequest_Packages{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: "quart can", Count: 1}}})
	f.gives(t, line(open+"--quantity 1qt --lot 01"), &materialsv1.OpenPackageRequest{Lot: lot, Amount: &materialsv1.OpenPackageRequest_Quantity{Quantity: amount("1", "qt")}})
	f.refuses(t, line(open+"--count 2"), "say which package --count counts")
	f.gives(t, line("stock move 'Clear coat' 'yellow cabinet' --quantity 1L"), &materialsv1.MoveLotRequest{Lot: lot, Quantity: amount("1", "L"), Place: "places/yellow-cabinet"})
	f.gives(t, line("stock close 'Clear coat' --reason 'skinned over'"), &materialsv1.CloseLotRequest{Lot: lot, Reason: "skinned over"})
	f.says(t, line("stock close 'Clear coat' --reason x"), "Nothing more of that lot of Clear coat is used; 1.5 L stay on the shelf until they are written down as waste.\n")
	f.gives(t, line("stock fix-cost 'Clear coat' 44.50 --reason 'the bill'"), &materialsv1.CorrectLotCostRequest{Lot: lot, Cost: usd(44_50), Reason: "the bill"})
	f.says(t, line("stock fix-cost 'Clear coat' 44.50 --reason 'the bill'"), "That lot of Clear coat cost 44.50, not 40.00;")
	f.says(t, line("stock lots 'Clear coat' --json"), `"batchCode": "A12"`)
	f.says(t, line("stock list --lots"), "Clear coat 01 2026-03-02 12:00:00 CST 1.5 L 30.00 – yellow-cabinet batch A12\n")
	f.says(t, line("stock list --lots --json"), `"lots": [`)
	f.asksFor(t, line("stock list --expiring 30"), &materialsv1.ListExpiringRequest{Days: 30, PageSize: 1000})
	f.says(t, line("stock list --expiring 0"), "2026-03-02 12:00:00 CST Clear coat 01 0.5 L 9.00 shelf-2 expired, open\n")
	f.refuses(t, line("stock list --expiring 3 --lots"), "can't be used together")

	f.shelf.lots[0].Open = true
	f.gives(t, line(open), &materialsv1.OpenPackageRequest{Lot: lot}) // the shop says better what is wrong with it
	f.shelf.lots[0].Closed = true
	f.gives(t, line("stock close 'Clear coat' --reason x"), &materialsv1.CloseLotRequest{Lot: lot, Reason: "x"})
	f.shelf.lots[0].Closed = false
	f.shelf.lots = append(f.shelf.lots, &materialsv1.Lot{Name: "products/k/lots/02", PartOf: lot})
	f.refuses(t, line("stock close 'Clear coat' --reason x"), "there are 2 lots of Clear coat; say which with --lot")
	f.gives(t, line("stock fix-cost 'Clear coat' 44.50 --reason x"), &materialsv1.CorrectLotCostRequest{Lot: lot, Cost: usd(44_50), Reason: "x"})
	f.shelf.lots = nil
	f.refuses(t, line(open), "there is no lot of Clear coat with something left; `shop stock lots \"Clear coat\" --all` lists those there were")
}

// What expires when a day is over can be used on that day, as the can says; a mix has its hour.
func TestLots_UntilWhen(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	for expires, want := range map[string]string{
		"2026-03-03T06:00:00Z": "2026-03-02 yellow-cabinet", "2026-03-03T05:59:59Z": "2026-03-02 23:59:59 CST yellow-cabinet",
		"2026-03-09T05:00:00Z": "2026-03-08 yellow-cabinet", // of 23 hours
		"2026-03-09T06:00:00Z": "2026-03-09 01:00:00 CDT yellow-cabinet",
	} {
		f.shelf.lots[0].ExpireTime = stamp(t, expires)
		f.says(t, line("stock lots 'Clear coat'"), want)
		f.says(t, line("stock list --lots"), want)
	}
}

// A lot that was not typed is the same when the command is given again, whatever came meanwhile.
func TestLots_TheSameAgain(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.lost = context.DeadlineExceeded
	again := f.doubted(t, line("stock open 'Clear coat'"), "the shop did not answer in time")
	f.healthy()
	f.shelf.lots[0].Open = true
	f.shelf.lots = append(f.shelf.lots, &materialsv1.Lot{Name: "products/k/lots/02"})
	f.gives(t, again, &materialsv1.OpenPackageRequest{Lot: "products/k/lots/01"})
	if len(f.doings()) != 1 {
		t.Errorf("it was done under %v, want once", f.doings())
	}
}

func TestHistory(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.shelf.movements = []*materialsv1.Movement{
		{Name: "products/k/entries/0e2", Purpose: "waste", ProductName: "Clear coat", Time: middayPlus(0), RecordTime: middayPlus(90), Quantity: amount("-0.03", "L"), Cost: usd(-1_14), Stage: "pieces/a/stages/2",
			StageKind: "sand", Cause: materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING, Reason: "HVLP", Actor: "Nell", Recosted: 2},
		{Purpose: "delivery", ProductName: "Clear coat", Time: middayPlus(-60), RecordTime: middayPlus(-60), Quantity: amount("2", "L"), Cost: usd(40_00), Actor: "Odile", Recosted: 1}}
	f.says(t, line("stock history"), "0e2 2026-03-02 12:00:00 CST waste Clear coat -0.03 L -1.14 1 sand (case) Nell gun-cleaning; HVLP; noted 2026-03-02 13:30:00 CST; counted anew 2 times, for what was noted after it of earlier times\n",
		"delivery Clear coat 2 L 40.00 Odile counted anew once, for")
	f.asksFor(t, line("stock history 'Clear coat' --piece 1 --for take-back,waste --for Count --from '2026-03-02 12:00' --to '2026-03-02 13:00'"), &materialsv1.ListMovementsRequest{
		Product: "products/k", Piece: "pieces/a", Purposes: []string{"take back", "waste", "count"}, FromTime: middayPlus(0), ToTime: middayPlus(60), PageSize: 1000})
	f.refuses(t, line("stock history --for theft"), `"theft" is none of: delivery, issue, return, take-back`)
}

func TestStockPolicy(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.says(t, line("stock policy"), "Stock is costed first in, first out; it can be changed until something has come in.\n")
	f.gives(t, line("stock policy moving-average"), &materialsv1.SetStockPolicyRequest{CostMethod: materialsv1.CostMethod_COST_METHOD_MOVING_AVERAGE})
	f.says(t, line("stock policy moving-average"), "Stock is costed at the moving average; something has come in, so it stays.\n")
	f.refuses(t, line("stock policy lifo"), `"lifo" is none of: first-in-first-out, moving-average`)
}
