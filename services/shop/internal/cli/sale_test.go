package cli

import (
	"testing"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// Without a price, all that is left of price and tax goes back; with one, the tax that is said or what sales reckoned; of the fee, what
// is said.
func TestRefund(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.listings = []*salesv1.Listing{{Name: "listings/a", Piece: "pieces/a", Tag: 1, State: salesv1.Listing_STATE_SOLD, Sales: []*salesv1.Sale{
		{Name: "sales/0", Price: usd(999_00), PieceReturned: true},
		{Name: "sales/1", Price: usd(175_00), Tax: usd(14_44), Fee: usd(17_50), PriceRefunded: usd(10_00), TaxRefunded: usd(83), FeeReturned: usd(0)}}}}
	want := func(price, tax, fee *moneyv1.Money, returned bool) *salesv1.RefundSaleRequest {
		return &salesv1.RefundSaleRequest{Sale: "sales/1", Price: price, Tax: tax, Fee: fee, PieceReturned: returned, Reason: "x"}
	}
	for text, c := range map[string]struct {
		want *salesv1.RefundSaleRequest
		says string
	}{
		"":                                   {want(usd(165_00), usd(13_61), nil, false), "For piece 1 go back: 165.00 of the price and 13.61 of the tax. The channel gives back 0.00 of its fee.\n"},
		"--returned":                         {want(usd(165_00), usd(13_61), nil, true), "13.61 of the tax. The channel gives back 0.00 of its fee. The piece is here again.\n"},
		"--fee 17.50":                        {want(usd(165_00), usd(13_61), usd(17_50), false), "gives back 17.50 of its fee."},
		"--tax 2":                            {want(usd(165_00), usd(2_00), nil, false), "165.00 of the price and 2.00 of the tax."},
		"40":                                 {want(usd(40_00), nil, nil, false), "40.00 of the price and 1.23 of the tax."},
		"40 --tax 3.30 --fee 4.00":           {want(usd(40_00), usd(3_30), usd(4_00), false), "40.00 of the price and 3.30 of the tax. The channel gives back 4.00 of its fee."},
		"0 --returned":                       {want(usd(0), nil, nil, true), "0.00 of the price and 1.23 of the tax."},
		"--sale sales/0":                     {&salesv1.RefundSaleRequest{Sale: "sales/0", Price: usd(999_00), Tax: usd(0), Reason: "x"}, "999.00 of the price and 0.00 of the tax."},
		"25 --sale 0":                        {&salesv1.RefundSaleRequest{Sale: "sales/0", Price: usd(25_00), Reason: "x"}, "25.00 of the price and 1.23 of the tax."},
		"--sale 1":                           {want(usd(165_00), usd(13_61), nil, false), "165.00 of the price and 13.61 of the tax."},
		"5 --returned --tax 0.41 --fee 0.50": {want(usd(5_00), usd(41), usd(50), true), "5.00 of the price and 0.41 of the tax."},
	} {
		args := line("sale refund 1 --reason x " + text)
		f.gives(t, args, c.want)
		f.says(t, args, c.says)
	}
	f.refuses(t, line("sale refund 1 --reason x --sale 7"), "piece 1 has no sale 7; `shop sale show 1` lists its sales")
	f.listings[0].Sales = nil
	f.refuses(t, line("sale refund 1 --reason x"), "Piece 1 was never sold, so there is nothing to give back. (SALE_NOT_FOUND)")
	f.listings = nil
	f.refuses(t, line("sale refund 1 --reason x"), "never sold")
}

// Every sale of a piece is shown, with the id that a refund can name.
func TestSaleShow(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.listings = []*salesv1.Listing{{Name: "listings/a", Piece: "pieces/a", Tag: 1, State: salesv1.Listing_STATE_SOLD, Sales: []*salesv1.Sale{
		{Name: "sales/0a1", Channel: "fair", Buyer: "B", Price: usd(150_00), Tax: usd(12_00), PriceRefunded: usd(150_00), TaxRefunded: usd(12_00), FeeReturned: usd(0),
			PieceReturned: true, SaleTime: stamp(t, "2026-03-02T14:00:00Z")},
		{Name: "sales/0a2", Channel: "direct", Price: usd(175_00), PriceRefunded: usd(0), SaleTime: stamp(t, "2026-03-03T14:00:00Z")}}}}
	f.says(t, line("sale show 1"), "0a1 2026-03-02 08:00:00 CST fair B 150.00 12.00 – 150.00 12.00 0.00 the piece came back\n",
		"0a2 2026-03-03 08:00:00 CST direct 175.00 – – 0.00 – –\n")
	f.says(t, line("sale show 1 --json"), `"name": "sales/0a1"`)
	f.listings = nil
	f.refuses(t, line("sale show 1"), "Sales has never heard of it.")
}
