package piece_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func dollars(units int64) *moneyv1.Money { return &moneyv1.Money{CurrencyCode: "USD", Units: units} }

// Each form sends what was typed into it.
func TestDoings(t *testing.T) {
	b := setup(t)
	name := b.answers["GetPiece"].(*intakev1.GetPieceResponse).Piece.Name
	at := timestamppb.New(time.Date(2026, 3, 18, 14, 30, 0, 0, time.UTC)) // 9:30 in Chicago
	for method, c := range map[string]struct {
		path string
		form url.Values
		want proto.Message
	}{
		"RecordInspection": {"inspect", url.Values{"stage": {"s/1"}, "passes": {"no"}, "defect": {"runs", "sags"}, "back_to": {"s/2"}, "note": {"left"}}, &workflowv1.RecordInspectionRequest{Stage: "s/1", Inspector: "people/owner",
			Defects: []*workflowv1.Defect{{Kind: "runs"}, {Kind: "sags"}}, BackTo: "s/2", Note: "left"}},
		"PlanStages":        {"plan", url.Values{"route": {"routes/painted"}}, &workflowv1.PlanStagesRequest{Piece: name, Route: "routes/painted"}},
		"CorrectClockEntry": {"correct", url.Values{"entry": {"e/1"}, "end": {"2026-03-18T09:30"}, "reason": {"forgot"}}, &workflowv1.CorrectClockEntryRequest{ClockEntry: "e/1", Reason: "forgot", Replacement: &workflowv1.CorrectClockEntryRequest_Replacement{EndTime: at}}},
		"ReturnMaterial":    {"return", url.Values{"issue": {"products/p/issues/i"}, "amount": {"0.1"}, "unit": {"L"}}, &materialsv1.ReturnMaterialRequest{Issue: "products/p/issues/i", Quantity: &typev1.Quantity{Value: "0.1", Unit: "L"}}},
		"TakeBackIssue":     {"take-back", url.Values{"issue": {"products/p/issues/i"}, "reason": {"another can"}}, &materialsv1.TakeBackIssueRequest{Issue: "products/p/issues/i", Reason: "another can"}},
		"ScrapPiece":        {"scrap", url.Values{"reason": {"rot"}, "etag": {"5"}}, &intakev1.ScrapPieceRequest{Piece: name, Reason: "rot", Etag: "5"}},
		"CreateListing":     {"list", url.Values{"asking": {"640"}, "channel": {"the window"}}, &salesv1.CreateListingRequest{Piece: name, Channel: "the window", AskingPrice: dollars(640)}},
		"ChangeAskingPrice": {"asking", url.Values{"asking": {"600"}, "reason": {"spring"}, "etag": {"2"}}, &salesv1.ChangeAskingPriceRequest{Piece: name, AskingPrice: dollars(600), Reason: "spring", Etag: "2"}},
		"SellPiece":         {"sell", url.Values{"price": {"600"}, "tax": {"48"}, "fee": {""}, "buyer": {"Ines"}}, &salesv1.SellPieceRequest{Piece: name, Price: dollars(600), Tax: dollars(48), Buyer: "Ines"}},
		"RefundSale":        {"refund", url.Values{"sale": {"sales/1"}, "price": {"50"}, "back": {"yes"}, "reason": {"a scratch"}}, &salesv1.RefundSaleRequest{Sale: "sales/1", Price: dollars(50), PieceReturned: true, Reason: "a scratch"}},
	} {
		if w := b.post("owner", "/pieces/401/"+c.path, c.form); w.Code != http.StatusSeeOther {
			t.Errorf("%s: %d\n%s", c.path, w.Code, w.Body)
			continue
		}
		got := proto.Clone(b.asked[method])
		got.ProtoReflect().Clear(got.ProtoReflect().Descriptor().Fields().ByName("request_id"))
		if !proto.Equal(got, c.want) {
			t.Errorf("%s sent %v\nwant %v", c.path, got, c.want)
		}
	}
}

// A stretch of the clock that never was is taken away whole.
func TestDoings_NeverWorked(t *testing.T) {
	b := setup(t)
	b.post("lead", "/pieces/401/correct", url.Values{"entry": {"e/1"}, "never": {"yes"}, "end": {"2026-03-18T09:30"}, "reason": {"wrong piece"}})
	if r := b.asked["CorrectClockEntry"].(*workflowv1.CorrectClockEntryRequest); r.Replacement != nil {
		t.Errorf("sent %v, want nothing in its place", r)
	}
}

// A form that is refused is open again, with what was typed, and says why in the reader's own words.
func TestDoings_Refused(t *testing.T) {
	b := setup(t)
	b.refuses["SellPiece"] = fault.New(fault.Precondition, "TAX_ABOVE_PRICE", "A sales tax is never more than the price it is on.")
	w := b.post("owner", "/pieces/401/sell", url.Values{"price": {"7.25"}, "tax": {"700"}})
	b.says(w, http.StatusUnprocessableEntity, "never more than the price", `id="do-sell" open`, `name="price" inputmode="decimal" autocomplete="off" required maxlength="20" value="7.25"`)
}

// Who may not sell is not asked to, and what cannot be done is not offered.
func TestDoings_Offered(t *testing.T) {
	offers := func(b *bundle, who string) (got []string) {
		body := b.get(who, "/pieces/401").Body.String()
		for _, form := range []string{"plan", "inspect", "return", "take-back", "correct", "list", "asking", "sell", "refund", "scrap"} {
			if strings.Contains(body, `id="do-`+form+`"`) {
				got = append(got, form)
			}
		}
		return got
	}
	check := func(what string, got []string, want string) {
		t.Helper()
		if strings.Join(got, " ") != want {
			t.Errorf("%s: offered %v, want %s", what, got, want)
		}
	}
	check("a helper", offers(setup(t), "helper"), "return")
	check("a lead", offers(setup(t), "lead"), "return take-back correct scrap")
	check("an owner, of a listed piece", offers(setup(t), "owner"), "return take-back correct asking sell scrap")
	b := setup(t)
	b.answers["GetListing"].(*salesv1.GetListingResponse).Listing.State = salesv1.Listing_STATE_SOLD
	b.answers["GetListing"].(*salesv1.GetListingResponse).Listing.Sales = []*salesv1.Sale{{Name: "sales/1", Price: dollars(600), Buyer: "Ines"}}
	check("of a sold piece", offers(b, "owner"), "return take-back correct refund")
	sale := b.answers["GetListing"].(*salesv1.GetListingResponse).Listing.Sales[0]
	sale.Tax, sale.PriceRefunded, sale.PieceReturned = dollars(48), dollars(600), true
	check("whose tax can go back", offers(b, "owner"), "return take-back correct refund")
	sale.TaxRefunded, sale.PieceReturned = dollars(48), false
	check("that can come back", offers(b, "owner"), "return take-back correct refund")
	sale.PieceReturned = true
	check("of which all went back", offers(b, "owner"), "return take-back correct")
	for _, away := range []string{"GetListing", "GetPieceCost"} {
		b = setup(t)
		b.refuses[away] = fault.New(fault.Unavailable, "AWAY", "It is away.")
		check("while nobody knows how its sale stands", offers(b, "owner"), "return take-back correct scrap")
		b.says(b.get("owner", "/pieces/401"), http.StatusOK, "This cannot be read at the moment")
	}
	b = setup(t)
	b.refuses["GetListing"] = fault.New(fault.NotFound, "LISTING_NOT_FOUND", "Never listed.")
	b.answers["ListStages"] = &workflowv1.ListStagesResponse{}
	b.answers["ListRoutes"] = &workflowv1.ListRoutesResponse{Routes: []*workflowv1.Route{{Name: "routes/painted"}}}
	check("of a piece that just came in", offers(b, "owner"), "plan return take-back correct list sell scrap")
	b = setup(t)
	for _, s := range b.answers["ListStages"].(*workflowv1.ListStagesResponse).Stages {
		if s.Kind == "inspect" {
			s.State = workflowv1.Stage_STATE_READY
		}
	}
	check("with an inspection that can be made", offers(b, "lead"), "inspect return take-back correct scrap")
	b.answers["ListDefectKinds"] = &workflowv1.ListDefectKindsResponse{DefectKinds: []*workflowv1.DefectKind{{Kind: "orange_peel"}}}
	b.says(b.get("lead", "/pieces/401"), http.StatusOK, `<option value="orange_peel">orange peel</option>`)
}

// What a photo shows can be said anew.
func TestPhoto_Described(t *testing.T) {
	b := setup(t)
	b.says(b.get("lead", "/pieces/401"), http.StatusOK, `action="/photos/7/describe"`, `<option value="defect" selected>a defect</option>`, `value="runs on the left"`)
	b.keeps(b.get("helper", "/pieces/401"), "/photos/7/describe")
	b.post("lead", "/photos/7/describe", url.Values{"moment": {"after"}, "note": {"dry now"}, "then": {"/pieces/401"}})
	if r := b.asked["DescribePhoto"].(*intakev1.DescribePhotoRequest); r.Photo != "photos/7" || r.Moment != intakev1.Photo_MOMENT_AFTER || r.Note != "dry now" {
		t.Errorf("sent %v", r)
	}
}

// Where the piece is must be said, and what is said afterwards is what happened.
func TestDoings_Refund(t *testing.T) {
	b := setup(t)
	b.keeps(b.get("owner", "/pieces/401"), "What selling cost")
	listing := b.answers["GetListing"].(*salesv1.GetListingResponse).Listing
	listing.State, listing.Sales = salesv1.Listing_STATE_SOLD, []*salesv1.Sale{{Name: "sales/1", Price: dollars(600), Buyer: "Ines"}}
	b.answers["GetPieceCost"].(*costingv1.GetPieceCostResponse).PieceCost.Sums.Fees = dollars(37)
	b.says(b.get("owner", "/pieces/401"), http.StatusOK, "All costs before selling", `<dt>What selling cost</dt><dd class="figure">37.00</dd>`)
	w := b.post("owner", "/pieces/401/refund", url.Values{"sale": {"sales/1"}, "price": {"50"}, "reason": {"a scratch"}})
	b.says(w, http.StatusBadRequest, "Say where the piece is now", `id="do-refund" open`, `value="a scratch"`, `name="back" value="no" required>`, `name="back" value="yes" required>`)
	if r := b.asked["RefundSale"]; r != nil {
		t.Errorf("sent %v, though nobody said where the piece is", r)
	}
	for _, c := range []struct {
		price, tax, fee, back, said string
	}{
		{"50", "", "", "no", "piece.refund.done"}, {"", "0.48", "", "no", "piece.refund.done"}, {"50", "", "3", "yes", "piece.refund.both"},
		{"", "", "", "yes", "piece.refund.back"}, {"0", "0.00", "5", "yes", "piece.refund.back"}, {"", "", "5", "no", "piece.refund.fee"},
	} {
		w := b.post("owner", "/pieces/401/refund", url.Values{"sale": {"sales/1"}, "price": {c.price}, "tax": {c.tax}, "fee": {c.fee}, "back": {c.back}, "reason": {"a scratch"}})
		if said := strings.Join(w.Header().Values("Set-Cookie"), " "); w.Code != http.StatusSeeOther || !strings.Contains(said, "="+c.said+";") {
			t.Errorf("%+v: %d, it says %s", c, w.Code, said)
		}
		if r := b.asked["RefundSale"].(*salesv1.RefundSaleRequest); r.PieceReturned != (c.back == "yes") {
			t.Errorf("%+v: sent %v", c, r)
		}
	}
}
