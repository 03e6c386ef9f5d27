package server_test

import (
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func day(month, day int32) *date.Date { return &date.Date{Year: 2026, Month: month, Day: day} }

// springfield takes 8.25 percent from the first of March on.
func springfield() *salesv1.SetTaxPlaceRequest {
	return &salesv1.SetTaxPlaceRequest{RequestId: svctest.NewID(), DisplayName: "Springfield", Percent: "8.25", FromDate: day(3, 1), DeliveryTaxed: true, MakeDefault: true}
}

func (b *bundle) taxPlace(t *testing.T, r *salesv1.SetTaxPlaceRequest) *salesv1.TaxPlace {
	t.Helper()
	resp, err := b.SetTaxPlace(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Place
}

// instant reads one as programs write it.
func instant(t *testing.T, text string) *timestamppb.Timestamp {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return timestamppb.New(at)
}

// untold is a sale of which nobody says the tax.
func untold(piece string) *salesv1.SellPieceRequest {
	r := sell(piece)
	r.Tax = nil
	return r
}

func TestServer_SetTaxPlace(t *testing.T) {
	b := setup(t)
	r := springfield()
	made := b.taxPlace(t, r)
	want := &salesv1.TaxPlace{Name: made.Name, DisplayName: "Springfield", IsDefault: true, Etag: `"1"`, Rates: []*salesv1.TaxPlace_Rate{{FromDate: day(3, 1), Percent: "8.25", DeliveryTaxed: true}}}
	differ(t, "SetTaxPlace", want, made)
	e := b.Last(t)
	differ(t, "event", &eventsv1.TaxPlaceSet{DisplayName: "Springfield", Percent: "8.25", FromDate: day(3, 1), DeliveryTaxed: true, IsDefault: true}, e.GetTaxPlaceSet())
	if e.AggregateKind != "tax_place" || e.Version != 1 || e.PieceId != "" {
		t.Errorf("envelope %v", e)
	}
	differ(t, "asked again", made, b.taxPlace(t, r))
	later := b.taxPlace(t, &salesv1.SetTaxPlaceRequest{RequestId: svctest.NewID(), DisplayName: "springfield", Percent: "9", FromDate: day(4, 1), Etag: made.Etag})
	if len(later.Rates) != 2 || !later.IsDefault || later.Name != made.Name {
		t.Errorf("with another rate it is %v", later)
	}
	b.taxPlace(t, &salesv1.SetTaxPlaceRequest{RequestId: svctest.NewID(), DisplayName: "Shelbyville", Percent: "7", MakeDefault: true})
	retired, err := b.RetireTaxPlace(svctest.Ctx(t), &salesv1.RetireTaxPlaceRequest{RequestId: svctest.NewID(), Name: made.Name})
	if err != nil || !retired.Place.Retired || retired.Place.IsDefault {
		t.Errorf("RetireTaxPlace = %v, %v", retired, err)
	}
	differ(t, "event of the end", &eventsv1.TaxPlaceRetired{DisplayName: "springfield"}, b.Last(t).GetTaxPlaceRetired())
	for show, n := range map[bool]int{false: 1, true: 2} {
		all, err := b.ListTaxPlaces(t.Context(), &salesv1.ListTaxPlacesRequest{ShowRetired: show})
		if err != nil || len(all.Places) != n || all.Places[0].DisplayName != "Shelbyville" || !all.Places[0].IsDefault {
			t.Errorf("ListTaxPlaces = %v, %v", all, err)
		}
	}
}

func TestServer_SetTaxPlace_Refuses(t *testing.T) {
	b := setup(t)
	b.taxPlace(t, springfield())
	for name, c := range map[string]struct {
		change func(*salesv1.SetTaxPlaceRequest)
		kind   fault.Kind
		reason string
	}{
		"Negative":    {func(r *salesv1.SetTaxPlaceRequest) { r.Percent = "-1" }, fault.Invalid, "TAX_PERCENT_OUT_OF_RANGE"},
		"AboveAll":    {func(r *salesv1.SetTaxPlaceRequest) { r.Percent = "100.1" }, fault.Invalid, "TAX_PERCENT_OUT_OF_RANGE"},
		"FivePlaces":  {func(r *salesv1.SetTaxPlaceRequest) { r.Percent = "8.12345" }, fault.Invalid, "TAX_PERCENT_MALFORMED"},
		"NoNumber":    {func(r *salesv1.SetTaxPlaceRequest) { r.Percent = "8,25" }, fault.Invalid, "TAX_PERCENT_MALFORMED"},
		"NoPercent":   {func(r *salesv1.SetTaxPlaceRequest) { r.Percent = "" }, fault.Invalid, "INVALID_FIELD"},
		"NoName":      {func(r *salesv1.SetTaxPlaceRequest) { r.DisplayName = " " }, fault.Invalid, "INVALID_FIELD"},
		"NoDay":       {func(r *salesv1.SetTaxPlaceRequest) { r.FromDate = day(2, 30) }, fault.Invalid, "DATE_MALFORMED"},
		"AnotherEtag": {func(r *salesv1.SetTaxPlaceRequest) { r.Etag = `"9"` }, fault.Conflict, "ETAG_MISMATCH"},
	} {
		t.Run(name, func(t *testing.T) {
			r := springfield()
			c.change(r)
			svctest.Refused(t, b.Service, b.SetTaxPlace, r, c.kind, c.reason)
		})
	}
	svctest.Refused(t, b.Service, b.RetireTaxPlace, &salesv1.RetireTaxPlaceRequest{RequestId: svctest.NewID(), Name: id.Name("taxPlaces", id.New())}, fault.NotFound, "TAX_PLACE_NOT_FOUND")
}

// Where nobody says the tax, the default place takes it; where the buyer is exempt it takes none, and says why.
func TestServer_SellPiece_Taxed(t *testing.T) {
	b := setup(t)
	b.taxPlace(t, springfield())
	sold, err := b.SellPiece(svctest.Ctx(t), untold(b.piece()))
	if err != nil {
		t.Fatal(err)
	}
	if s := sold.Sale; s.TaxPlace != "Springfield" || s.TaxPercent != "8.25" || s.TaxExempt {
		t.Errorf("the sale is %v", s)
	}
	differ(t, "tax", cents(19_80), sold.Sale.Tax) // 240.00 × 8.25 %, by hand
	differ(t, "taxable", usd(240), sold.Sale.Taxable)
	differ(t, "event", cents(19_80), b.Last(t).GetPieceSold().Tax)
	r := untold(b.piece())
	r.Exempt, r.ExemptReason = true, "resale certificate 12-345"
	free, err := b.SellPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "tax of an exempt buyer", usd(0), free.Sale.Tax)
	e := b.Last(t).GetPieceSold()
	if free.Sale.ExemptReason != r.ExemptReason || !e.TaxExempt || e.TaxPlace != "Springfield" || free.Sale.TaxPlace != "Springfield" {
		t.Errorf("the sale is %v, its event %v", free.Sale, e)
	}
	said := b.sell(t, b.piece()).Sale
	if said.TaxPlace != "" || said.TaxPercent != "" || said.Taxable != nil {
		t.Errorf("with a tax that is said it is %v", said)
	}
}

func TestServer_SellPiece_TaxRefused(t *testing.T) {
	b := setup(t)
	place := b.taxPlace(t, springfield())
	later := springfield()
	later.DisplayName, later.FromDate, later.MakeDefault = "Ogdenville", day(3, 3), false
	b.taxPlace(t, later)
	for want, change := range map[string]func(*salesv1.SellPieceRequest){
		"TAX_SAID_TWICE":         func(r *salesv1.SellPieceRequest) { r.Tax, r.TaxPlace = usd(1), "Springfield" },
		"TAX_PLACE_NOT_FOUND":    func(r *salesv1.SellPieceRequest) { r.TaxPlace = "Capital City" },
		"TAX_RATE_NOT_STATED":    func(r *salesv1.SellPieceRequest) { r.TaxPlace = "Ogdenville" },
		"EXEMPT_REASON_MISSING":  func(r *salesv1.SellPieceRequest) { r.Exempt = true },
		"EXEMPT_REASON_ALONE":    func(r *salesv1.SellPieceRequest) { r.ExemptReason = "a school" },
		"AMOUNT_NEGATIVE":        func(r *salesv1.SellPieceRequest) { r.Tax = usd(-1) },
		"CURRENCY_NOT_THE_SHOPS": func(r *salesv1.SellPieceRequest) { r.Tax = &money.Money{CurrencyCode: "EUR"} },
	} {
		r := untold(b.piece())
		change(r)
		kind := fault.Invalid
		switch want {
		case "TAX_PLACE_NOT_FOUND":
			kind = fault.NotFound
		case "TAX_RATE_NOT_STATED":
			kind = fault.Precondition
		}
		svctest.Refused(t, b.Service, b.SellPiece, r, kind, want)
	}
	retire := &salesv1.RetireTaxPlaceRequest{RequestId: svctest.NewID(), Name: place.Name}
	svctest.Refused(t, b.Service, b.RetireTaxPlace, retire, fault.Precondition, "TAX_PLACE_IS_DEFAULT")
	later.RequestId, later.MakeDefault = svctest.NewID(), true
	b.taxPlace(t, later)
	retire.RequestId = svctest.NewID()
	if _, err := b.RetireTaxPlace(svctest.Ctx(t), retire); err != nil {
		t.Fatal(err)
	}
	r := untold(b.piece())
	r.TaxPlace = "springfield"
	svctest.Refused(t, b.Service, b.SellPiece, r, fault.Precondition, "TAX_PLACE_RETIRED")
}

// Of March: a taxed sale of 240.00, an exempt one, one with a tax of 19.20 that was said, and a refund of 40.00 with a tax of 3.30
// that went back on its last evening, which is April already in Greenwich. Of April: a refund of the rest of the tax.
func TestServer_GetTaxReport(t *testing.T) {
	b := setup(t)
	b.taxPlace(t, springfield())
	sold, err := b.SellPiece(svctest.Ctx(t), untold(b.piece()))
	if err != nil {
		t.Fatal(err)
	}
	free := untold(b.piece())
	free.Exempt, free.ExemptReason = true, "a school"
	if _, err := b.SellPiece(svctest.Ctx(t), free); err != nil {
		t.Fatal(err)
	}
	b.sell(t, b.piece())
	for at, back := range map[string][2]*money.Money{"2026-04-01T03:30:00Z": {usd(40), cents(3_30)}, "2026-04-02T03:30:00Z": {nil, cents(16_50)}} {
		r := refund(sold.Sale.Name, back[0])
		r.Tax, r.RefundTime = back[1], instant(t, at)
		if _, err := b.RefundSale(svctest.Ctx(t), r); err != nil {
			t.Fatal(err)
		}
	}
	march, err := b.GetTaxReport(t.Context(), &salesv1.GetTaxReportRequest{FromDate: day(3, 1), ToDate: day(3, 31)})
	if err != nil {
		t.Fatal(err)
	}
	said := &salesv1.GetTaxReportResponse_Row{GrossSales: usd(240), Exempt: usd(0), Taxable: usd(240), TaxCollected: cents(19_20), SalesRefunded: usd(0), TaxRefunded: usd(0), NetTax: cents(19_20)}
	here := &salesv1.GetTaxReportResponse_Row{Place: "Springfield", Percent: "8.25", GrossSales: usd(480), Exempt: usd(240), Taxable: usd(240), TaxCollected: cents(19_80),
		SalesRefunded: usd(40), TaxRefunded: cents(3_30), NetTax: cents(16_50)}
	all := &salesv1.GetTaxReportResponse_Row{GrossSales: usd(720), Exempt: usd(240), Taxable: usd(480), TaxCollected: usd(39), SalesRefunded: usd(40), TaxRefunded: cents(3_30), NetTax: cents(35_70)}
	differ(t, "March", &salesv1.GetTaxReportResponse{Rows: []*salesv1.GetTaxReportResponse_Row{said, here}, Total: all}, march)
	april, err := b.GetTaxReport(t.Context(), &salesv1.GetTaxReportRequest{FromDate: day(4, 1), ToDate: day(4, 30)})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "April", cents(-16_50), april.Total.NetTax)
	svctest.Refused(t, b.Service, b.GetTaxReport, &salesv1.GetTaxReportRequest{FromDate: day(4, 2), ToDate: day(4, 1)}, fault.Invalid, "PERIOD_REVERSED")
	svctest.Refused(t, b.Service, b.GetTaxReport, &salesv1.GetTaxReportRequest{FromDate: day(4, 31), ToDate: day(5, 1)}, fault.Invalid, "DATE_MALFORMED")
}

// The default place takes nothing of a client's own piece, whose invoice brings its tax.
func TestServer_SellPiece_CommissionUntaxed(t *testing.T) {
	b := setup(t)
	b.taxPlace(t, springfield())
	sold, err := b.SellPiece(svctest.Ctx(t), untold(b.commission()))
	if err != nil || sold.Sale.TaxPlace != "" {
		t.Fatalf("SellPiece = %v, %v", sold, err)
	}
	differ(t, "tax", usd(0), sold.Sale.Tax)
	there := untold(b.commission())
	there.TaxPlace = "Springfield"
	taxed, err := b.SellPiece(svctest.Ctx(t), there)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "tax at a place that is said", cents(19_80), taxed.Sale.Tax)
}

// The first place is the default one though nobody says so. Where places are in use and none is the default, as with places that were
// stated before that held, a sale that says nothing of tax is refused rather than left untaxed.
func TestServer_SellPiece_PlaceUnsaid(t *testing.T) {
	b := setup(t)
	r := springfield()
	r.MakeDefault = false
	if place := b.taxPlace(t, r); !place.IsDefault {
		t.Errorf("the first place is %v", place)
	}
	db, err := pgx.Connect(t.Context(), b.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close(t.Context())
	if _, err := db.Exec(t.Context(), "UPDATE sales.tax_place SET is_default = false"); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, b.Service, b.SellPiece, untold(b.piece()), fault.Precondition, "TAX_PLACE_UNSAID")
	b.sell(t, b.piece())
}

// The default place takes tax from a later day only: what is sold before it is not taxed, and says no place.
func TestServer_SellPiece_BeforeTheFirstRate(t *testing.T) {
	b := setup(t)
	r := springfield()
	r.FromDate = day(3, 31)
	b.taxPlace(t, r)
	sold, err := b.SellPiece(svctest.Ctx(t), untold(b.piece()))
	if err != nil || sold.Sale.TaxPlace != "" {
		t.Fatalf("SellPiece = %v, %v", sold, err)
	}
}

// Three refunds that say no tax give back the 19.80 of 240.00 at 8.25 % to the cent; one that says none gives back none.
func TestServer_RefundSale_ReckonsTax(t *testing.T) {
	b := setup(t)
	b.taxPlace(t, springfield())
	sold, err := b.SellPiece(svctest.Ctx(t), untold(b.piece()))
	if err != nil {
		t.Fatal(err)
	}
	// By hand: of 160.01 left 13.20, of 79.99 left 6.60, of nothing nothing.
	for _, c := range []struct{ price, tax *money.Money }{{cents(79_99), cents(6_60)}, {cents(80_02), cents(6_60)}, {cents(79_99), cents(6_60)}} {
		back, err := b.RefundSale(svctest.Ctx(t), refund(sold.Sale.Name, c.price))
		if err != nil {
			t.Fatal(err)
		}
		differ(t, "tax", c.tax, back.Tax)
		differ(t, "event", c.tax, b.Last(t).GetSaleRefunded().Tax)
		sold.Sale = back.Sale
	}
	differ(t, "all of the tax", cents(19_80), sold.Sale.TaxRefunded)
	another, err := b.SellPiece(svctest.Ctx(t), untold(b.piece()))
	if err != nil {
		t.Fatal(err)
	}
	none := refund(another.Sale.Name, usd(240))
	none.Tax = usd(0)
	if back, err := b.RefundSale(svctest.Ctx(t), none); err != nil || back.Sale.TaxRefunded.GetUnits() != 0 {
		t.Errorf("RefundSale = %v, %v", back, err)
	}
}
