package server_test

import (
	"strings"
	"sync"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func (b *bundle) suppliers() materialsv1.SupplierServiceClient {
	return materialsv1.NewSupplierServiceClient(b.Conn)
}

// supplier adds one that delivers in three days.
func (b *bundle) supplier(t *testing.T, name string) *materialsv1.Supplier {
	t.Helper()
	r, err := b.suppliers().AddSupplier(svctest.Ctx(t), &materialsv1.AddSupplierRequest{RequestId: svctest.NewID(), DisplayName: name, LeadDays: 3})
	if err != nil {
		t.Fatal(err)
	}
	return r.Supplier
}

// offerOf is cheaper by the dozen.
func offerOf(s *materialsv1.Supplier, product, label string) *materialsv1.SetOfferRequest {
	return &materialsv1.SetOfferRequest{RequestId: svctest.NewID(), Supplier: s.Name, Product: product, PackageLabel: label, Article: "SH-1Q",
		PriceBreaks: []*materialsv1.PriceBreak{{FromPackages: 1, Price: usd(23_50)}, {FromPackages: 12, Price: usd(20_00)}}}
}

func (b *bundle) offer(t *testing.T, r *materialsv1.SetOfferRequest) *materialsv1.Offer {
	t.Helper()
	resp, err := b.suppliers().SetOffer(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Offer
}

func (b *bundle) offers(t *testing.T, r *materialsv1.ListOffersRequest) (all []*materialsv1.Offer) {
	t.Helper()
	for r.PageSize = 1; ; {
		resp, err := b.suppliers().ListOffers(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, resp.Offers...)
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			return all
		}
	}
}

func TestServer_AddSupplier(t *testing.T) {
	b := setup(t)
	r := &materialsv1.AddSupplierRequest{RequestId: svctest.NewID(), DisplayName: " Paint  store", LeadDays: 3, Note: "closed on Mondays "}
	got, err := b.suppliers().AddSupplier(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	want := &materialsv1.Supplier{Name: got.Supplier.Name, DisplayName: "Paint store", LeadDays: 3, Note: "closed on Mondays", Etag: `"1"`}
	same(t, "AddSupplier", want, got.Supplier)
	read, err := b.suppliers().GetSupplier(t.Context(), &materialsv1.GetSupplierRequest{Name: got.Supplier.Name})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "GetSupplier", want, read.Supplier)
	e := b.Last(t)
	if e.AggregateKind != "supplier" || e.AggregateId != bare(want.Name) || e.Version != 1 || e.PieceId != "" || e.Actor != svctest.Actor {
		t.Errorf("envelope = %v", e)
	}
	same(t, "event", &eventsv1.SupplierSaved{SupplierId: bare(want.Name), DisplayName: "Paint store", LeadDays: 3}, e.GetSupplierSaved())

	taken := &materialsv1.AddSupplierRequest{RequestId: svctest.NewID(), DisplayName: "PAINT store"}
	refusedAt(t, svctest.Refused(t, b.Service, b.suppliers().AddSupplier, taken, fault.Exists, "SUPPLIER_NAME_TAKEN"), "display_name")
	taken.DisplayName, taken.LeadDays = "Hardware store", 366
	refusedAt(t, svctest.Refused(t, b.Service, b.suppliers().AddSupplier, taken, fault.Invalid, "INVALID_FIELD"), "lead_days")
	refusedAt(t, svctest.Refused(t, b.Service, b.suppliers().GetSupplier, &materialsv1.GetSupplierRequest{Name: id.Name("suppliers", id.New())}, fault.NotFound, "SUPPLIER_NOT_FOUND"), "name")
}

func change(s *materialsv1.Supplier) *materialsv1.ChangeSupplierRequest {
	return &materialsv1.ChangeSupplierRequest{RequestId: svctest.NewID(), Supplier: s.Name, DisplayName: s.DisplayName, LeadDays: s.LeadDays, Note: s.Note, Retired: s.Retired, Etag: s.Etag}
}

// A retired supplier is out of the list, and what it offered is still known.
func TestServer_ChangeSupplier(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	s := b.supplier(t, "Paint store")
	b.supplier(t, "Abrasives by mail")
	b.offer(t, offerOf(s, p.Name, "quart can"))
	s.DisplayName, s.LeadDays, s.Retired, s.Etag = "Old paint store", 5, true, `"2"`
	r, err := b.suppliers().ChangeSupplier(svctest.Ctx(t), change(s))
	if err != nil {
		t.Fatal(err)
	}
	s.Etag = `"3"`
	same(t, "ChangeSupplier", s, r.Supplier)
	if e := b.Last(t); !e.GetSupplierSaved().GetRetired() || e.Version != 3 {
		t.Errorf("event = %v", e)
	}
	var names []string
	for _, retiredToo := range []bool{false, true} {
		list := &materialsv1.ListSuppliersRequest{ShowRetired: retiredToo, PageSize: 1}
		for {
			resp, err := b.suppliers().ListSuppliers(t.Context(), list)
			if err != nil {
				t.Fatal(err)
			}
			for _, one := range resp.Suppliers {
				names = append(names, one.DisplayName)
			}
			if list.PageToken = resp.NextPageToken; list.PageToken == "" {
				break
			}
		}
	}
	if got := strings.Join(names, "|"); got != "Abrasives by mail|Abrasives by mail|Old paint store" {
		t.Errorf("ListSuppliers = %s", got)
	}
	if all := b.offers(t, &materialsv1.ListOffersRequest{Supplier: s.Name}); len(all) != 1 || !all[0].SupplierRetired || all[0].SupplierName != "Old paint store" {
		t.Errorf("ListOffers = %v", all)
	}
	refusedAt(t, svctest.Refused(t, b.Service, b.suppliers().SetOffer, offerOf(s, p.Name, "half litre"), fault.Precondition, "SUPPLIER_RETIRED"), "supplier")
	stale := change(s)
	stale.Etag = `"1"`
	refusedAt(t, svctest.Refused(t, b.Service, b.suppliers().ChangeSupplier, stale, fault.Conflict, "ETAG_MISMATCH"), "etag")
	taken := change(s)
	taken.DisplayName = "abrasives BY mail"
	refusedAt(t, svctest.Refused(t, b.Service, b.suppliers().ChangeSupplier, taken, fault.Exists, "SUPPLIER_NAME_TAKEN"), "display_name")
	taken.Supplier = id.Name("suppliers", id.New())
	refusedAt(t, svctest.Refused(t, b.Service, b.suppliers().ChangeSupplier, taken, fault.NotFound, "SUPPLIER_NOT_FOUND"), "supplier")
}

func TestServer_SetOffer(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	s := b.supplier(t, "Paint store")
	r := offerOf(s, p.Name, " QUART can")
	r.LeadDays = proto.Int32(0)
	want := &materialsv1.Offer{Supplier: s.Name, SupplierName: "Paint store", Product: p.Name, ProductName: "Dewaxed shellac", PackageLabel: "quart can",
		Content: of("0.946352946", "L"), Article: "SH-1Q", PriceBreaks: r.PriceBreaks, LeadDays: proto.Int32(0)}
	same(t, "SetOffer", want, b.offer(t, r))
	same(t, "ListOffers", want, b.offers(t, &materialsv1.ListOffersRequest{Product: p.Name})[0])
	e := b.Last(t)
	if e.AggregateKind != "supplier" || e.AggregateId != bare(s.Name) || e.Version != 2 {
		t.Errorf("envelope = %v", e)
	}
	same(t, "event", &eventsv1.OfferSet{SupplierId: bare(s.Name), SupplierName: "Paint store", ProductId: bare(p.Name), ProductName: "Dewaxed shellac", PackageLabel: "quart can",
		Content: of("0.946352946", "L"), LeadDays: proto.Int32(0), PriceBreaks: []*eventsv1.OfferSet_PriceBreak{{FromPackages: 1, Price: usd(23_50)}, {FromPackages: 12, Price: usd(20_00)}}}, e.GetOfferSet())

	again := offerOf(s, p.Name, "quart can")
	again.Article, again.PriceBreaks = "SH-2Q", again.PriceBreaks[:1]
	b.offer(t, again)
	want.Article, want.PriceBreaks, want.LeadDays = "SH-2Q", again.PriceBreaks, nil
	if all := b.offers(t, &materialsv1.ListOffersRequest{}); len(all) != 1 || !proto.Equal(all[0], want) {
		t.Errorf("offered anew: %v, want only %v", all, want)
	}
	if e := b.Last(t); e.Version != 3 {
		t.Errorf("envelope = %v", e)
	}
}

func TestServer_SetOffer_Refuses(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	s := b.supplier(t, "Paint store")
	euros := usd(10_00)
	euros.CurrencyCode = "EUR"
	for name, c := range map[string]struct {
		change        func(*materialsv1.SetOfferRequest)
		kind          fault.Kind
		reason, field string
	}{
		"NoProduct":     {func(r *materialsv1.SetOfferRequest) { r.Product = id.Name("products", id.New()) }, fault.NotFound, "PRODUCT_NOT_FOUND", "product"},
		"NoSupplier":    {func(r *materialsv1.SetOfferRequest) { r.Supplier = id.Name("suppliers", id.New()) }, fault.NotFound, "SUPPLIER_NOT_FOUND", "supplier"},
		"BadName":       {func(r *materialsv1.SetOfferRequest) { r.Supplier = p.Name }, fault.Invalid, "INVALID_NAME", "supplier"},
		"NoSuchPackage": {func(r *materialsv1.SetOfferRequest) { r.PackageLabel = "drum" }, fault.Invalid, "PACKAGE_UNKNOWN", "package_label"},
		"NoPrice":       {func(r *materialsv1.SetOfferRequest) { r.PriceBreaks = nil }, fault.Invalid, "INVALID_FIELD", "price_breaks"},
		"ForNothing":    {func(r *materialsv1.SetOfferRequest) { r.PriceBreaks[1].Price = usd(0) }, fault.Invalid, "PRICE_NOT_POSITIVE", "price_breaks[1].price"},
		"BelowZero":     {func(r *materialsv1.SetOfferRequest) { r.PriceBreaks[1].Price = usd(-1) }, fault.Invalid, "AMOUNT_NEGATIVE", "price_breaks[1].price"},
		"Euros":         {func(r *materialsv1.SetOfferRequest) { r.PriceBreaks[0].Price = euros }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "price_breaks[0].price"},
		"FirstFromTwo":  {func(r *materialsv1.SetOfferRequest) { r.PriceBreaks[0].FromPackages = 2 }, fault.Invalid, "BREAKS_OUT_OF_ORDER", "price_breaks[0].from_packages"},
		"FallingFrom":   {func(r *materialsv1.SetOfferRequest) { r.PriceBreaks[1].FromPackages = 1 }, fault.Invalid, "BREAKS_OUT_OF_ORDER", "price_breaks[1].from_packages"},
		"InTwoYears":    {func(r *materialsv1.SetOfferRequest) { r.LeadDays = proto.Int32(366) }, fault.Invalid, "INVALID_FIELD", "lead_days"},
	} {
		t.Run(name, func(t *testing.T) {
			r := offerOf(s, p.Name, "quart can")
			c.change(r)
			refusedAt(t, svctest.Refused(t, b.Service, b.suppliers().SetOffer, r, c.kind, c.reason), c.field)
		})
	}
}

// A package can go once nobody offers it.
func TestServer_RemoveOffer(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	s := b.supplier(t, "Paint store")
	b.offer(t, offerOf(s, p.Name, "quart can"))
	r := &materialsv1.RemoveOfferRequest{RequestId: svctest.NewID(), Supplier: s.Name, Product: p.Name, PackageLabel: "Quart can"}
	if _, err := b.suppliers().RemoveOffer(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
	e := b.Last(t)
	if e.Version != 3 {
		t.Errorf("envelope = %v", e)
	}
	same(t, "event", &eventsv1.OfferRemoved{SupplierId: bare(s.Name), SupplierName: "Paint store", ProductId: bare(p.Name), ProductName: "Dewaxed shellac", PackageLabel: "quart can"}, e.GetOfferRemoved())
	if all := b.offers(t, &materialsv1.ListOffersRequest{}); len(all) != 0 {
		t.Errorf("ListOffers = %v, want none", all)
	}
	r.RequestId = svctest.NewID()
	refusedAt(t, svctest.Refused(t, b.Service, b.suppliers().RemoveOffer, r, fault.NotFound, "OFFER_NOT_FOUND"), "package_label")
	if _, err := b.catalogue().SetPackages(svctest.Ctx(t), sizes(p.Name)); err != nil {
		t.Errorf("SetPackages = %v", err)
	}
}

func TestServer_ListOffers(t *testing.T) {
	b := setup(t)
	first, second := b.supplier(t, "Paint store"), b.supplier(t, "Abrasives by mail")
	wax := shellac()
	wax.DisplayName = "A wax"
	p, w := b.add(t, shellac()), b.add(t, wax)
	for _, o := range []*materialsv1.SetOfferRequest{offerOf(first, p.Name, "quart can"), offerOf(first, p.Name, "half litre"), offerOf(second, p.Name, "quart can"), offerOf(first, w.Name, "quart can")} {
		b.offer(t, o)
	}
	for want, r := range map[string]*materialsv1.ListOffersRequest{
		"A wax/Paint store/quart can, Dewaxed shellac/Abrasives by mail/quart can, Dewaxed shellac/Paint store/half litre, Dewaxed shellac/Paint store/quart can": {},
		"A wax/Paint store/quart can":                 {Product: w.Name},
		"Dewaxed shellac/Abrasives by mail/quart can": {Supplier: second.Name},
		"": {Supplier: second.Name, Product: w.Name},
	} {
		var got []string
		for _, o := range b.offers(t, r) {
			got = append(got, o.ProductName+"/"+o.SupplierName+"/"+o.PackageLabel)
		}
		if strings.Join(got, ", ") != want {
			t.Errorf("ListOffers = %s, want %s", strings.Join(got, ", "), want)
		}
	}
	svctest.Refused(t, b.Service, b.suppliers().ListOffers, &materialsv1.ListOffersRequest{PageToken: "zz"}, fault.Invalid, "INVALID_PAGE_TOKEN")
	refusedAt(t, svctest.Refused(t, b.Service, b.suppliers().ListOffers, &materialsv1.ListOffersRequest{Product: first.Name}, fault.Invalid, "INVALID_NAME"), "product")
}

// Whoever is first: nobody offers a package that there is not.
func TestServer_SetOffer_WhilePackagesChange(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	s := b.supplier(t, "Paint store")
	var done sync.WaitGroup
	for range 6 {
		done.Go(func() {
			if _, err := b.suppliers().SetOffer(svctest.Ctx(t), offerOf(s, p.Name, "quart can")); err != nil && !fault.Is(err, "PACKAGE_UNKNOWN") {
				t.Errorf("SetOffer: %v", err)
			}
		})
		done.Go(func() {
			if _, err := b.catalogue().SetPackages(svctest.Ctx(t), sizes(p.Name)); err != nil && !fault.Is(err, "PACKAGE_IN_USE") {
				t.Errorf("SetPackages: %v", err)
			}
		})
	}
	done.Wait()
	read, err := b.GetProduct(t.Context(), &materialsv1.GetProductRequest{Name: p.Name})
	if err != nil {
		t.Fatal(err)
	}
	if offers := b.offers(t, &materialsv1.ListOffersRequest{}); (len(offers) == 0) != (len(read.Product.Packages) == 0) {
		t.Errorf("%d offers of %d packages", len(offers), len(read.Product.Packages))
	}
	b.dense(t)
}
