package server_test

import (
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// storing is the bundle with what stands where.
type storing struct {
	*bundle
	materialsv1.StorageServiceClient
	stock materialsv1.StockServiceClient
}

func store(t *testing.T) *storing {
	b := setup(t)
	return &storing{bundle: b, StorageServiceClient: materialsv1.NewStorageServiceClient(b.Conn), stock: materialsv1.NewStockServiceClient(b.Conn)}
}

func place(word string, kind materialsv1.Place_Kind) *materialsv1.SavePlaceRequest {
	return &materialsv1.SavePlaceRequest{RequestId: svctest.NewID(), Place: &materialsv1.Place{Name: "places/" + word, DisplayName: strings.ToUpper(word[:1]) + word[1:], Kind: kind}}
}

func (b *storing) save(t *testing.T, r *materialsv1.SavePlaceRequest) *materialsv1.Place {
	t.Helper()
	resp, err := b.SavePlace(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Place
}

// described keeps a product counted in litres with its details.
func (b *storing) described(t *testing.T, name string, d *typev1.ProductDetails) string {
	t.Helper()
	r := shellac()
	r.DisplayName, r.Packages = name, nil
	product := b.add(t, r).Name
	if d != nil {
		_, err := materialsv1.NewCatalogueServiceClient(b.Conn).DescribeProduct(svctest.Ctx(t), &materialsv1.DescribeProductRequest{RequestId: svctest.NewID(), Product: product, Details: d})
		if err != nil {
			t.Fatal(err)
		}
	}
	return product
}

// put receives litres of a product at a place.
func (b *storing) put(t *testing.T, product, litres, place string) *materialsv1.Lot {
	t.Helper()
	resp, err := b.stock.ReceiveDelivery(svctest.Ctx(t), &materialsv1.ReceiveDeliveryRequest{RequestId: svctest.NewID(), ReceiveTime: noon, Lines: []*materialsv1.DeliveryLine{{
		Product: product, Cost: usd(50_00), Place: place, Amount: &materialsv1.DeliveryLine_Quantity{Quantity: of(litres, "L")}}}})
	if err != nil {
		t.Fatal(err)
	}
	return resp.Lots[0]
}

func TestServer_SavePlace(t *testing.T) {
	b := store(t)
	r := place("yellow-cabinet", materialsv1.Place_KIND_CABINET)
	r.Place.DisplayName, r.Place.FireArea = " Yellow  cabinet ", "North"
	got := b.save(t, r)
	want := &materialsv1.Place{Name: "places/yellow-cabinet", DisplayName: "Yellow cabinet", Kind: materialsv1.Place_KIND_CABINET, FireArea: "North", Etag: `"1"`}
	same(t, "SavePlace", want, got)
	e := b.Last(t)
	same(t, "event", &eventsv1.PlaceSaved{PlaceId: e.AggregateId, Word: "yellow-cabinet", DisplayName: "Yellow cabinet", Kind: "cabinet", FireArea: "North"}, e.GetPlaceSaved())
	if e.AggregateKind != "place" || e.Version != 1 {
		t.Errorf("event = %v, want the first of a place", e)
	}

	again := place("yellow-cabinet", materialsv1.Place_KIND_CABINET)
	again.Place.Etag, again.Place.Retired = `"1"`, true
	if got := b.save(t, again); got.Etag != `"2"` || !got.Retired || b.Last(t).AggregateId != e.AggregateId || b.Last(t).Version != 2 {
		t.Errorf("saved anew = %v, want the same place, retired", got)
	}
	b.save(t, place("rack", materialsv1.Place_KIND_OPEN))
	for all, want := range map[bool]int{false: 1, true: 2} {
		list, err := b.ListPlaces(t.Context(), &materialsv1.ListPlacesRequest{ShowRetired: all})
		if err != nil || len(list.Places) != want || list.Places[0].Name != "places/rack" {
			t.Errorf("ListPlaces(%v) = %v, %v, want %d, the rack first", all, list, err, want)
		}
	}
}

func TestServer_SavePlace_Refuses(t *testing.T) {
	b := store(t)
	b.save(t, place("rack", materialsv1.Place_KIND_OPEN))
	for name, c := range map[string]struct {
		change func(*materialsv1.Place)
		reason string
		kind   fault.Kind
		field  string
	}{
		"NoPlace":     {func(p *materialsv1.Place) { p.Name = "rack" }, "INVALID_NAME", fault.Invalid, "place.name"},
		"NoWord":      {func(p *materialsv1.Place) { p.Name = "places/Big Rack" }, "PLACE_NAME_MALFORMED", fault.Invalid, "place.name"},
		"BlankName":   {func(p *materialsv1.Place) { p.DisplayName = "\u00a0" }, "INVALID_FIELD", fault.Invalid, "place.display_name"},
		"NoKind":      {func(p *materialsv1.Place) { p.Kind = 0 }, "INVALID_FIELD", fault.Invalid, "place.kind"},
		"SavedByNell": {func(p *materialsv1.Place) { p.Etag = `"7"` }, "ETAG_MISMATCH", fault.Conflict, "etag"},
	} {
		t.Run(name, func(t *testing.T) {
			r := place("rack", materialsv1.Place_KIND_OPEN)
			c.change(r.Place)
			refusedAt(t, svctest.Refused(t, b.Service, b.SavePlace, r, c.kind, c.reason), c.field)
		})
	}
}

// What stands somewhere is put at a place that is there and in use.
func TestServer_Places_TakeIn(t *testing.T) {
	b := store(t)
	b.save(t, place("rack", materialsv1.Place_KIND_OPEN))
	gone := place("shed", materialsv1.Place_KIND_OUTDOORS)
	gone.Place.Retired = true
	b.save(t, gone)
	lot := b.put(t, b.described(t, "Varnish", nil), "4", "places/rack")
	if lot.Place != "places/rack" {
		t.Errorf("lot = %v, want it at the rack", lot)
	}
	move := func(to string) *materialsv1.MoveLotRequest {
		return &materialsv1.MoveLotRequest{RequestId: svctest.NewID(), Lot: lot.Name, Place: to}
	}
	svctest.Refused(t, b.Service, b.stock.MoveLot, move("places/shed"), fault.Precondition, "PLACE_RETIRED")
	svctest.Refused(t, b.Service, b.stock.MoveLot, move("places/attic"), fault.NotFound, "PLACE_NOT_FOUND")
}

// 25 gal of ether outside and 26 gal in, as 29 CFR 1910.106 counts them (values from memory: flash
// point -45 °C, boiling point 34.6 °C).
func TestServer_GetFlammables(t *testing.T) {
	b := store(t)
	b.save(t, place("rack", materialsv1.Place_KIND_OPEN))
	b.save(t, place("yard", materialsv1.Place_KIND_OUTDOORS))
	b.save(t, place("yellow-cabinet", materialsv1.Place_KIND_CABINET))
	flash, boils := -45.0, 34.6
	ether := b.described(t, "Ether", &typev1.ProductDetails{Category: "solvent", FlashPointCelsius: &flash, BoilingPointCelsius: &boils})
	varnish := b.described(t, "Spar varnish", nil)
	b.put(t, ether, "98.420706384", "places/rack")
	b.put(t, ether, "94.6352946", "places/yard")
	b.put(t, varnish, "3.5", "places/yellow-cabinet")
	b.put(t, varnish, "1", "")
	got, err := b.GetFlammables(t.Context(), &materialsv1.GetFlammablesRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Areas) != 1 || len(got.Areas[0].Limits) != 2 {
		t.Fatalf("areas = %v, want the building with two limits", got.Areas)
	}
	want := &materialsv1.Flammables_Limit{Of: "category 1", Held: of("98.420706384", "L"), Limit: of("94.6352946", "L"), Percent: 104, Over: true, Source: "29 CFR 1910.106(e)(2)(ii)(b)(1)",
		ToDo: got.Areas[0].Limits[0].GetToDo()}
	same(t, "limit", want, got.Areas[0].Limits[0])
	if todo := want.ToDo; !strings.HasPrefix(todo, "Use up 3.8 L at least, move it") || !strings.Contains(got.Areas[0].Text, todo) || got.Areas[0].Limits[1].ToDo != "" {
		t.Errorf("to do = %q, want it said where a limit is over", todo)
	}
	if got.Areas[0].Limits[1].Over || got.Areas[0].Unknown[0].ProductName != "Spar varnish" || got.Areas[0].Unknown[0].Quantity.Value != "1" {
		t.Errorf("building = %v, want the litre of varnish unknown", got.Areas[0])
	}
	var places []string
	for _, p := range got.Places {
		places = append(places, p.Place)
	}
	if all := strings.Join(places, " "); all != "places/rack places/yard places/yellow-cabinet " {
		t.Errorf("places = %q, want all three and what nobody said where it stands", all)
	}
	if cabinet := got.Places[2]; len(cabinet.Limits) != 2 || cabinet.Unknown[0].Quantity.Value != "3.5" || !strings.Contains(cabinet.Text, "Spar varnish") {
		t.Errorf("cabinet = %v, want its limits and the varnish unknown", cabinet)
	}
	if !strings.Contains(got.Caution, "Local fire codes") || len(got.Places[1].Limits) != 0 {
		t.Errorf("answer = %v, want the caution, and no limit for the yard", got)
	}
}

func TestServer_ListExpiring(t *testing.T) {
	b := store(t)
	b.save(t, place("rack", materialsv1.Place_KIND_OPEN))
	product := b.described(t, "Catalysed lacquer", nil)
	var lots []string
	for range 5 {
		lots = append(lots, b.put(t, product, "2", "places/rack").Name)
	}
	for n, days := range []int{20, 3, -1, 1, 40} {
		b.exec(t, `UPDATE materials.lot SET expires_at = now() + make_interval(days => $2) WHERE id = $1`, bare(lots[n]), days)
	}
	b.exec(t, `UPDATE materials.lot SET quantity_left = 0, cost_left = 0 WHERE id = $1`, bare(lots[3]))
	r := &materialsv1.ListExpiringRequest{Days: 30, PageSize: 2}
	first, err := b.ListExpiring(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	r.PageToken = first.NextPageToken
	second, err := b.ListExpiring(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	if len(first.Lots) != 2 || first.Lots[0].Lot != lots[2] || !first.Lots[0].Expired || first.Lots[1].Lot != lots[1] || first.Lots[1].Expired {
		t.Errorf("first page = %v, want the expired lot and then that of in three days", first.Lots)
	}
	if len(second.Lots) != 1 || second.Lots[0].Lot != lots[0] || second.NextPageToken != "" {
		t.Errorf("second page = %v, want that of in twenty days", second)
	}
	same(t, "lot", &materialsv1.ExpiringLot{Lot: lots[0], ProductName: "Catalysed lacquer", Left: of("2", "L"), Value: usd(50_00), Place: "places/rack", ExpireTime: second.Lots[0].ExpireTime, LastDate: second.Lots[0].LastDate}, second.Lots[0])
	if expired, err := b.ListExpiring(t.Context(), &materialsv1.ListExpiringRequest{}); err != nil || len(expired.Lots) != 1 {
		t.Errorf("within no days = %v, %v, want the expired one", expired, err)
	}
}

// What is printed on the can is the last day: the lot is too old when that is over in the shop.
func TestServer_ListExpiring_AsOnTheCan(t *testing.T) {
	b := store(t)
	lot := b.put(t, b.described(t, "Catalysed lacquer", nil), "2", "")
	b.exec(t, `UPDATE materials.lot SET expires_at = $2 WHERE id = $1`, bare(lot.Name), newYork(t, 10, 0).AsTime())
	got, err := b.ListExpiring(t.Context(), &materialsv1.ListExpiringRequest{Days: 30})
	if err != nil || len(got.Lots) != 1 {
		t.Fatalf("ListExpiring = %v, %v", got, err)
	}
	same(t, "last day", &date.Date{Year: 2026, Month: 3, Day: 9}, got.Lots[0].LastDate)
}

// A mix without a flash point of its own counts by what went into it, and spray cans are not
// passed over: that nobody can count them is said.
func TestServer_GetFlammables_MixesAndCans(t *testing.T) {
	b := store(t)
	m := b.blend(t)
	for product, flash := range map[string]float64{m.walnut: 40, m.amber: 12} {
		boils := 80.0
		must[*materialsv1.DescribeProductResponse](t)(b.catalogue().DescribeProduct(svctest.Ctx(t), about(product, &typev1.ProductDetails{FlashPointCelsius: &flash, BoilingPointCelsius: &boils})))
	}
	must[*materialsv1.MakeMixResponse](t)(b.mixes().MakeMix(svctest.Ctx(t), mixing(m.recipe, "0.8", 10)))
	cans := shellac()
	cans.DisplayName, cans.Unit, cans.Packages = "Spray lacquer", "each", nil
	spray := b.add(t, cans).Name
	must[*materialsv1.DescribeProductResponse](t)(b.catalogue().DescribeProduct(svctest.Ctx(t), about(spray, &typev1.ProductDetails{Category: "Lacquer"})))
	in := bill(line(spray, "12", 96_00))
	in.Lines[0].Amount = &materialsv1.DeliveryLine_Quantity{Quantity: of("12", "each")}
	must[*materialsv1.ReceiveDeliveryResponse](t)(b.stock.ReceiveDelivery(svctest.Ctx(t), in))
	got, err := b.GetFlammables(t.Context(), &materialsv1.GetFlammablesRequest{})
	if err != nil || len(got.Areas) != 1 {
		t.Fatalf("GetFlammables = %v, %v", got, err)
	}
	building := got.Areas[0]
	if len(building.Categories) != 2 || building.Categories[0].Quantity.Value != "6.6" || building.Categories[1].Quantity.Value != "6.4" {
		t.Errorf("categories = %v, want 5.8 L of amber and 0.8 L of the mix of category 2, and 6.4 L of walnut of category 3", building.Categories)
	}
	if !strings.Contains(building.Text, "Warm walnut, mixed counts by the most flammable of its parts") {
		t.Errorf("text = %q, want a word of the mix", building.Text)
	}
	if len(building.Unknown) != 1 || building.Unknown[0].Quantity.Value != "12" || !strings.Contains(building.Unknown[0].Reason, "by the piece") {
		t.Errorf("unknown = %v, want the cans", building.Unknown)
	}
}

func (b *storing) exec(t *testing.T, sql string, args ...any) {
	t.Helper()
	execute(t, b.bundle, sql, args...)
}

func stageOf(b *bundle) (piece, stage id.ID) {
	ids, err := id.FromName("stage", b.stage, "pieces", "stages")
	if err != nil {
		panic(err) // setup made it
	}
	return ids[0], ids[1]
}
