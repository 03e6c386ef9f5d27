package cli

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// newHouse is a shop with what came from one house: two chairs for 180.00.
func newHouse(t *testing.T) *fake {
	t.Helper()
	f := newFake(t)
	bought := &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{Price: usd(90_00), Source: "house", Lot: "lots/h"}}
	f.pieces = append(f.pieces, &intakev1.Piece{Name: "pieces/b", Tag: 12, Title: "Oak chair", Origin: bought, State: intakev1.Piece_STATE_IN_HAND},
		&intakev1.Piece{Name: "pieces/c", Tag: 13, Title: "Elm chair", Origin: bought, State: intakev1.Piece_STATE_SCRAPPED})
	share := func(piece string, tag int32, title string, state intakev1.Piece_State, worth, cents int64) *intakev1.Lot_Share {
		return &intakev1.Lot_Share{Piece: piece, Tag: tag, Title: title, State: state, ExpectedValue: usd(worth), Share: usd(cents)}
	}
	f.joint.lots = []*intakev1.Lot{{Name: "lots/h", Source: "house", Date: &date.Date{Year: 2026, Month: 3, Day: 2}, OnScrap: intakev1.Lot_ON_SCRAP_TAKES_OVER, Terms: []*intakev1.Lot_Terms{
		{Price: usd(170_00), Split: intakev1.Lot_SPLIT_EQUALLY, SetTime: stamp(t, "2026-03-02T14:00:00Z")},
		{Price: usd(180_00), Split: intakev1.Lot_SPLIT_BY_VALUE, Reason: "the premium", SetTime: stamp(t, "2026-03-03T14:00:00Z"), Shares: []*intakev1.Lot_Share{
			share("pieces/b", 12, "Oak chair", intakev1.Piece_STATE_IN_HAND, 60_00, 45_00), share("pieces/c", 13, "Elm chair", intakev1.Piece_STATE_SCRAPPED, 180_00, 135_00)}}}}}
	f.joint.sets = []*salesv1.Set{{Name: "sets/s", Channel: "fair", Buyer: "B", Price: usd(420_00), SaleTime: stamp(t, "2026-03-04T14:00:00Z"), Parts: []*salesv1.Set_Part{
		{Piece: "pieces/b", Tag: 12, Weight: usd(300_00), Sale: &salesv1.Sale{Price: usd(315_00), Tax: usd(25_20), Fee: usd(0), PriceRefunded: usd(0)}},
		{Piece: "pieces/c", Tag: 13, Weight: usd(100_00), Sale: &salesv1.Sale{Price: usd(105_00), Tax: usd(8_40), Fee: usd(0), PriceRefunded: usd(5_00)}}}}}
	return f
}

func byValue(cents int64) *intakev1.Weight {
	return &intakev1.Weight{By: &intakev1.Weight_ExpectedValue{ExpectedValue: usd(cents)}}
}

func byHand(cents int64) *intakev1.Weight {
	return &intakev1.Weight{By: &intakev1.Weight_Share{Share: usd(cents)}}
}

func TestTakeInLot(t *testing.T) {
	t.Parallel()
	f := newHouse(t)
	whole := []*intakev1.Part{{Label: "whole"}}
	r := &intakev1.TakeInLotRequest{Price: usd(180_00), Source: "auction, lot 7", Date: &date.Date{Year: 2026, Month: 2, Day: 27}, Split: intakev1.Lot_SPLIT_BY_VALUE, OnScrap: intakev1.Lot_ON_SCRAP_TAKES_OVER,
		Items: []*intakev1.TakeInLotRequest_Item{{Title: "Oak chair", Kind: "chair", Parts: whole, Weight: byValue(60_00)},
			{Title: "Chest: the tall one", Kind: "chest", Tag: 40, Size: typev1.PieceSize_PIECE_SIZE_LARGE, Condition: typev1.PieceCondition_PIECE_CONDITION_DAMAGED, Weight: byValue(250_50), Parts: []*intakev1.Part{{Label: "case"}, {Label: "drawer", Count: 3, Length: amount("16", "in"), Width: amount("7", "in")}}}}}
	f.gives(t, line("piece take-in-lot --price 180 --source 'auction, lot 7' --date 2026-02-27 --by value --on-scrap takes-over 'Oak chair: chair = 60' 'Chest: the tall one : chest=250.50; part case; part drawer:3:16inx7in; tag 40; size large; condition damaged'"), r)
	f.gives(t, line("piece take-in-lot --price 10 --source kerb --by equally 'Stool: stool' 'Stool: stool'"), &intakev1.TakeInLotRequest{Price: usd(10_00), Source: "kerb", Split: intakev1.Lot_SPLIT_EQUALLY,
		OnScrap: intakev1.Lot_ON_SCRAP_KEEPS, Items: []*intakev1.TakeInLotRequest_Item{{Title: "Stool", Kind: "stool", Parts: whole}, {Title: "Stool", Kind: "stool", Parts: whole}}})
	f.gives(t, line("piece take-in-lot --price 10 --source kerb --by hand 'Stool: stool = 4' 'Shelf: shelf = 6'"), &intakev1.TakeInLotRequest{Price: usd(10_00), Source: "kerb", Split: intakev1.Lot_SPLIT_BY_HAND,
		OnScrap: intakev1.Lot_ON_SCRAP_KEEPS, Items: []*intakev1.TakeInLotRequest_Item{{Title: "Stool", Kind: "stool", Parts: whole, Weight: byHand(4_00)}, {Title: "Shelf", Kind: "shelf", Parts: whole, Weight: byHand(6_00)}}})
	f.says(t, line("piece take-in-lot --price 10 --source kerb --by equally 'Stool: stool' 'Stool: stool'"), "2 pieces are taken in as a lot.\n")
	for rest, want := range map[string]string{
		"--by equally 'Stool: stool'":                             "a lot is of two pieces or more; take a single one in with `shop piece take-in`",
		"--by value 'Stool: stool' 'Shelf: shelf = 6'":            "Stool: say what it is expected to sell for, behind an equals sign",
		"--by hand 'Stool: stool' 'Shelf: shelf = 6'":             "Stool: say its share of the price, behind an equals sign",
		"--by equally 'Stool: stool' 'Shelf: shelf = 6'":          "Shelf: an equal split goes by no amount; leave '= 6' out",
		"--by value 'Stool' 'Shelf: shelf = 6'":                   `"Stool" is not of the form 'Oak chair: chair = 60'`,
		"--by value 'Stool: = 6' 'Shelf: shelf = 6'":              "is not of the form",
		"--by value 'Stool: stool = 6; legs 4' 'S: s = 6'":        `"legs 4" is none of: part LABEL`,
		"--by value 'Stool: stool = 6; size huge' 'S: s = 6'":     "size small|medium|large",
		"--by value 'Stool: stool = 6; condition' 'S: s = 6'":     "condition sound|worn|damaged",
		"--by value 'Stool: stool = 6; tag x' 'S: s = 6'":         `"x" is not a tag number`,
		"--by value 'Stool: stool = 6; part leg:few' 'S: s = 6'":  "is not a number of alike parts",
		"--by value 'Stool: stool = much' 'S: s = 6'":             "is not an amount of USD",
		"--by weight 'Stool: stool = 6' 'S: s = 6'":               "--by must be one of",
		"--by value --on-scrap burns 'Stool: stool = 6' 'S: s=6'": "--on-scrap must be one of",
	} {
		f.refuses(t, line("piece take-in-lot --price 10 --source kerb "+rest), want)
	}
}

// A lot is found by any of its pieces; all that was said of it is shown, and what their sheets have of it: one
// is sold and took the other's share over, of which the books have not heard yet.
func TestLot_Show(t *testing.T) {
	t.Parallel()
	f := newHouse(t)
	f.costs = []*costingv1.PieceCost{{Piece: "pieces/b", State: costingv1.PieceCost_STATE_SOLD, Provisional: true, Sums: &costingv1.CostSums{Acquisition: usd(180_00)}}}
	for _, ref := range []string{"12", "13", "lots/h"} {
		f.says(t, line("piece lot show "+ref), "170.00 from house, split equally, set 2026-03-02 08:00:00 CST\n", "180.00 from house, split by what each is expected to sell for, set 2026-03-03 08:00:00 CST: the premium\n",
			"goes to those that are then still there", "tag piece state expected share before anything was given up on its sheet\n", "12 Oak chair sold? 60.00 45.00 180.00\n", "13 Elm chair – 180.00 135.00 –\n")
	}
	f.says(t, line("piece lot show 12 --json"), `"name": "lots/h"`)
	f.says(t, line("piece lot list"), "2026-03-02 house 180.00 split by what each is expected to sell for 12, 13\n")
	f.says(t, line("piece show 12"), "house, 90.00 of a lot")
	f.refuses(t, line("piece lot show 1"), "piece 1 was not bought in a lot; `shop piece lot list` shows the lots")
	f.refuses(t, line("piece lot show 99"), "There is no such piece.")
}

func TestLot_Split(t *testing.T) {
	t.Parallel()
	f := newHouse(t)
	f.gives(t, line("piece lot split 12 --by value --reason veneer '13 = 60' 12=20"), &intakev1.ReviseLotSplitRequest{Lot: "lots/h", Split: intakev1.Lot_SPLIT_BY_VALUE, Reason: "veneer",
		Items: []*intakev1.ReviseLotSplitRequest_Item{{Piece: "pieces/c", Weight: byValue(60_00)}, {Piece: "pieces/b", Weight: byValue(20_00)}}})
	f.gives(t, line("piece lot split 13 --by equally --reason 'nobody knows'"), &intakev1.ReviseLotSplitRequest{Lot: "lots/h", Split: intakev1.Lot_SPLIT_EQUALLY, Reason: "nobody knows"})
	f.refuses(t, line("piece lot split 12 --by hand --reason x 12 13=60"), "piece 12: say its share of the price")
	f.refuses(t, line("piece lot split 12 --by value --reason x 99=60"), "There is no such piece.")
	f.refuses(t, line("piece lot split 12 --by value 12=60"), "missing flags: --reason")
}

// What a piece of a lot cost may be no loss when it is scrapped.
func TestScrap_OfALot(t *testing.T) {
	t.Parallel()
	f := newHouse(t)
	f.says(t, line("piece scrap 1 --reason worm"), "Piece 1 is scrapped; what it cost is a loss.\n")
	f.joint.lots[0].OnScrap = intakev1.Lot_ON_SCRAP_KEEPS
	f.says(t, line("piece scrap 12 --reason worm"), "Piece 12 is scrapped; what it cost is a loss.\n")
	f.joint.lots[0].OnScrap = intakev1.Lot_ON_SCRAP_TAKES_OVER
	f.says(t, line("piece scrap 12 --reason worm"), "what it cost is a loss, but for its share of the lot's price, which those of the lot that are still there take over.\n")
}

func TestFixPrice(t *testing.T) {
	t.Parallel()
	f := newHouse(t)
	f.gives(t, line("piece fix-price 1 42 --reason receipt"), &intakev1.CorrectPurchaseRequest{Price: usd(42_00), Reason: "receipt", Purchase: &intakev1.CorrectPurchaseRequest_Piece{Piece: "pieces/a"}})
	f.says(t, line("piece fix-price 1 42 --reason receipt"), "Piece 1 cost 42.00.\n")
	f.gives(t, line("piece fix-price 13 200 --lot --reason premium"), &intakev1.CorrectPurchaseRequest{Price: usd(200_00), Reason: "premium", Purchase: &intakev1.CorrectPurchaseRequest_Lot{Lot: "lots/h"}})
	f.says(t, line("piece fix-price 13 200 --lot --reason premium"), "tag piece expected share before anything was given up\n", "13 Elm chair 180.00 135.00\n")
	f.refuses(t, line("piece fix-price 1 42 --lot --reason premium"), "piece 1 was not bought in a lot")
}

func TestSellSet(t *testing.T) {
	t.Parallel()
	f := newHouse(t)
	f.gives(t, line("sale sell-set 12,13=90,1 420 --tax 33.60 --fee 42 --buyer 'R. Okafor' --channel fair"), &salesv1.SellSetRequest{Price: usd(420_00), Tax: usd(33_60), Fee: usd(42_00), Buyer: "R. Okafor", Channel: "fair",
		Items: []*salesv1.SellSetRequest_Item{{Piece: "pieces/b"}, {Piece: "pieces/c", Weight: usd(90_00)}, {Piece: "pieces/a"}}})
	f.says(t, line("sale sell-set '12, 13' 420"), "2 pieces sold together for 420.00 to B on fair, 2026-03-04 08:00:00 CST\n", "12 300.00 315.00 25.20 0.00 0.00\n", "13 100.00 105.00 8.40 0.00 5.00\n")
	f.refuses(t, line("sale sell-set 12,99 420"), "There is no such piece.")
	f.refuses(t, line("sale sell-set 12=90 420"), "a set is of two pieces or more; sell a single one with `shop sale sell 12 420`")
	f.refuses(t, line("sale sell-set 12, 420"), "is not a tag number")
	f.refuses(t, line("sale sell-set 12,13=dear 420"), "is not an amount of USD")
}

// A set is found by a piece that was sold in it, unless the piece came back and was sold otherwise.
func TestShowSet(t *testing.T) {
	t.Parallel()
	f := newHouse(t)
	f.listings = []*salesv1.Listing{{Name: "listings/b", Piece: "pieces/b", Tag: 12, State: salesv1.Listing_STATE_SOLD, Sales: []*salesv1.Sale{
		{Name: "sales/1", PieceReturned: true}, {Name: "sales/2", Set: "sets/s", SaleTime: stamp(t, "2026-03-04T14:00:00Z")}}}}
	f.says(t, line("sale show-set 12"), "2 pieces sold together for 420.00")
	f.says(t, line("sale show-set sets/s"), "2 pieces sold together for 420.00")
	f.says(t, line("sale show 12"), " in a set\n", " the piece came back\n")
	f.listings[0].Sales = append(f.listings[0].Sales, &salesv1.Sale{Name: "sales/3"})
	f.refuses(t, line("sale show-set 12"), "piece 12 was not last sold in a set")
	f.refuses(t, line("sale show-set 13"), "Sales has never heard of it.")
}
