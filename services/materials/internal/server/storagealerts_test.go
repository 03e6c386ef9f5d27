package server_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/timeofday"
	"google.golang.org/grpc"

	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/materials/materialssvc"
)

// crew are the people of the shop, one on each page, as workflow lists them.
type crew struct {
	workflowv1.UnimplementedPeopleServiceServer
	people []*workflowv1.Person
}

func (c *crew) ListPeople(_ context.Context, r *workflowv1.ListPeopleRequest) (*workflowv1.ListPeopleResponse, error) {
	n := len(r.PageToken)
	if n >= len(c.people) {
		return &workflowv1.ListPeopleResponse{}, nil
	}
	return &workflowv1.ListPeopleResponse{People: c.people[n : n+1], NextPageToken: r.PageToken + "."}, nil
}

func works(name string, day dayofweek.DayOfWeek, from, to int32) *workflowv1.Person {
	return &workflowv1.Person{DisplayName: name, WorkingDays: []*workflowv1.WorkingDay{{Day: day, Start: &timeofday.TimeOfDay{Hours: from}, End: &timeofday.TimeOfDay{Hours: to, Minutes: 30}}}}
}

// watched is a shop of some people whose alerts are looked at all the time.
func watched(t *testing.T, people ...*workflowv1.Person) *storing {
	t.Helper()
	b := setup(t)
	conn := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		workflowv1.RegisterPeopleServiceServer(r, &crew{people: people})
		workflowv1.RegisterStageServiceServer(r, b.others)
		workflowv1.RegisterBatchServiceServer(r, b.others)
		intakev1.RegisterIntakeServiceServer(r, b.others)
	})
	b.Stop()
	b.Service = svctest.Start(t, materialssvc.Name, materialssvc.Run, svctest.Options{URL: b.URL, Alerts: 50 * time.Millisecond,
		Peers: map[string]grpc.ClientConnInterface{"workflow": conn, "intake": conn}})
	b.MaterialsServiceClient = materialsv1.NewMaterialsServiceClient(b.Conn)
	return &storing{bundle: b, StorageServiceClient: materialsv1.NewStorageServiceClient(b.Conn), stock: materialsv1.NewStockServiceClient(b.Conn)}
}

// warns waits until the open alerts of some kinds are these.
func (b *storing) warns(t *testing.T, when string, want ...string) []*materialsv1.Alert {
	t.Helper()
	var kinds []string
	var alerts []*materialsv1.Alert
	for deadline := time.Now().Add(10 * time.Second); time.Now().Before(deadline); {
		got, err := materialsv1.NewRestockServiceClient(b.Conn).ListAlerts(t.Context(), &materialsv1.ListAlertsRequest{})
		if err != nil {
			t.Fatal(err)
		}
		kinds, alerts = nil, got.Alerts
		for _, a := range got.Alerts {
			kinds = append(kinds, a.Kind)
		}
		if slices.Sort(kinds); slices.Equal(kinds, want) {
			return alerts
		}
	}
	t.Fatalf("%s: alerts = %q, want %q", when, kinds, want)
	return nil
}

// Oily rags are told of until they were put away.
func TestServer_Alerts_OilyWaste(t *testing.T) {
	b := watched(t)
	b.oiled(t, 15)
	alerts := b.warns(t, "after work", "oily waste")
	if !strings.HasPrefix(alerts[0].Text, "URGENT") {
		t.Errorf("of long ago = %q, want it in strong words", alerts[0].Text)
	}
	if _, err := b.ConfirmOilyWaste(svctest.Ctx(t), confirmedAt(16)); err != nil {
		t.Fatal(err)
	}
	b.warns(t, "put away")
}

// The rags are due when Rosa's shift ends on Mondays, which the shop's plan of work knows; on
// Sundays she works at other hours.
func TestServer_Alerts_OilyWaste_AtTheEndOfTheShift(t *testing.T) {
	rosa := works("Rosa", dayofweek.DayOfWeek_MONDAY, 9, 16)
	rosa.WorkingDays = append(rosa.WorkingDays, works("", dayofweek.DayOfWeek_SUNDAY, 6, 7).WorkingDays...)
	b := watched(t, works("Nell", dayofweek.DayOfWeek_MONDAY, 9, 20), rosa)
	b.oiled(t, 15)
	want := newYork(t, 2, 16).AsTime().Add(30 * time.Minute)
	var due time.Time
	for deadline := time.Now().Add(10 * time.Second); !due.Equal(want) && time.Now().Before(deadline); {
		due = b.oilyOn(t, 2).DueTime.AsTime()
	}
	if !due.Equal(want) {
		t.Errorf("due = %v, want %v, when Rosa's shift ends", due, want)
	}
}

// A service that is due is told of until it was noted.
func TestServer_Alerts_Service(t *testing.T) {
	b := watched(t)
	r := &running{bundle: b.bundle, EquipmentServiceClient: materialsv1.NewEquipmentServiceClient(b.Conn)}
	gun := r.save(t, sprayer("HVLP gun"))
	r.ran(t, gun.Name, 8, 3*time.Hour)
	b.warns(t, "after three hours of two", "equipment service")
	if _, err := r.RecordService(svctest.Ctx(t), &materialsv1.RecordServiceRequest{RequestId: svctest.NewID(), Equipment: gun.Name, ServicedBy: "Nell"}); err != nil {
		t.Fatal(err)
	}
	b.warns(t, "serviced")
}

// Too much ether in the open is told of until it stands in a cabinet, and a lot that is too old
// until it was wasted.
func TestServer_Alerts_Storage(t *testing.T) {
	b := watched(t)
	b.save(t, place("rack", materialsv1.Place_KIND_OPEN))
	b.save(t, place("yellow-cabinet", materialsv1.Place_KIND_CABINET))
	flash, boils := -45.0, 34.6
	ether := b.described(t, "Ether", &typev1.ProductDetails{FlashPointCelsius: &flash, BoilingPointCelsius: &boils})
	lot := b.put(t, ether, "100", "places/rack")
	b.warns(t, "100 L in the open", "flammable liquids over limit")
	if _, err := b.stock.MoveLot(svctest.Ctx(t), &materialsv1.MoveLotRequest{RequestId: svctest.NewID(), Lot: lot.Name, Place: "places/yellow-cabinet"}); err != nil {
		t.Fatal(err)
	}
	b.warns(t, "in the cabinet")
	b.exec(t, `UPDATE materials.lot SET expires_at = now() + interval '13 days' WHERE product_id = $1`, bare(ether))
	b.warns(t, "two weeks before", "lot expires")
	b.exec(t, `UPDATE materials.lot SET closed = true WHERE product_id = $1`, bare(ether))
	b.warns(t, "closed")
	b.exec(t, `UPDATE materials.lot SET closed = false WHERE product_id = $1`, bare(ether))
	b.warns(t, "two weeks before, and in use", "lot expires")
	b.exec(t, `UPDATE materials.lot SET expires_at = now() + interval '15 days' WHERE product_id = $1`, bare(ether))
	b.warns(t, "more than two weeks before")
}
