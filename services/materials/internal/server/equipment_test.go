package server_test

import (
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

type running struct {
	*bundle
	materialsv1.EquipmentServiceClient
}

func equip(t *testing.T) *running {
	b := setup(t)
	return &running{bundle: b, EquipmentServiceClient: materialsv1.NewEquipmentServiceClient(b.Conn)}
}

func sprayer(name string) *materialsv1.SaveEquipmentRequest {
	return &materialsv1.SaveEquipmentRequest{RequestId: svctest.NewID(), Equipment: &materialsv1.Equipment{
		DisplayName: name, Kind: "sprayer", HourlyCost: usd(4_50), ServiceHours: 2, StageKinds: []string{"topcoat_coat"}, Station: "stations/booth"}}
}

func (b *running) save(t *testing.T, r *materialsv1.SaveEquipmentRequest) *materialsv1.Equipment {
	t.Helper()
	resp, err := b.SaveEquipment(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Equipment
}

// ran notes that equipment ran for the piece, from an hour of 2 March on.
func (b *running) ran(t *testing.T, equipment string, hour int, length time.Duration) {
	t.Helper()
	piece, _ := stageOf(b.bundle)
	execute(t, b.bundle, `INSERT INTO materials.equipment_use (entry_id, equipment_id, piece_id, started_at, ended_at, hourly_cost)
		SELECT $1, id, $3, $4, $5, hourly_cost FROM materials.equipment WHERE id = $2`,
		id.New(), bare(equipment), piece, time.Date(2026, 3, 2, hour, 0, 0, 0, time.UTC), time.Date(2026, 3, 2, hour, 0, 0, 0, time.UTC).Add(length))
}

func (b *running) line(t *testing.T) *materialsv1.ListEquipmentResponse_Line {
	t.Helper()
	got, err := b.ListEquipment(t.Context(), &materialsv1.ListEquipmentRequest{})
	if err != nil || len(got.Lines) != 1 {
		t.Fatalf("ListEquipment = %v, %v, want one", got, err)
	}
	return got.Lines[0]
}

func TestServer_SaveEquipment(t *testing.T) {
	b := equip(t)
	got := b.save(t, sprayer(" HVLP  gun "))
	want := sprayer("HVLP gun").Equipment
	want.Name, want.Etag = got.Name, `"1"`
	same(t, "SaveEquipment", want, got)
	e := b.Last(t)
	same(t, "event", &eventsv1.EquipmentSaved{EquipmentId: bare(got.Name), DisplayName: "HVLP gun", Kind: "sprayer", HourlyCost: usd(4_50), ServiceHours: 2,
		StageKinds: []string{"topcoat_coat"}, Station: "booth"}, e.GetEquipmentSaved())
	again := &materialsv1.SaveEquipmentRequest{RequestId: svctest.NewID(), Equipment: got}
	again.Equipment.Retired, again.Equipment.ServiceHours = true, 0
	if got := b.save(t, again); got.Etag != `"2"` || !got.Retired || b.Last(t).Version != 2 {
		t.Errorf("saved anew = %v, want the same, retired", got)
	}
	for all, want := range map[bool]int{false: 0, true: 1} {
		if list, err := b.ListEquipment(t.Context(), &materialsv1.ListEquipmentRequest{ShowRetired: all}); err != nil || len(list.Lines) != want {
			t.Errorf("ListEquipment(%v) = %v, %v, want %d", all, list, err, want)
		}
	}
}

func TestServer_SaveEquipment_Refuses(t *testing.T) {
	b := equip(t)
	kept := b.save(t, sprayer("HVLP gun"))
	for name, c := range map[string]struct {
		change func(*materialsv1.Equipment)
		reason string
		kind   fault.Kind
		field  string
	}{
		"NameTaken":   {func(e *materialsv1.Equipment) { e.DisplayName = "hvlp GUN" }, "EQUIPMENT_NAME_TAKEN", fault.Exists, "equipment.display_name"},
		"NotThere":    {func(e *materialsv1.Equipment) { e.Name = id.Name("equipment", id.New()) }, "EQUIPMENT_NOT_FOUND", fault.NotFound, "equipment.name"},
		"NoName":      {func(e *materialsv1.Equipment) { e.Name = "gun" }, "INVALID_NAME", fault.Invalid, "equipment.name"},
		"SavedByNell": {func(e *materialsv1.Equipment) { e.Name, e.Etag = kept.Name, `"7"` }, "ETAG_MISMATCH", fault.Conflict, "etag"},
		"Euros":       {func(e *materialsv1.Equipment) { e.HourlyCost.CurrencyCode = "EUR" }, "CURRENCY_NOT_THE_SHOPS", fault.Invalid, "equipment.hourly_cost"},
		"NoStation":   {func(e *materialsv1.Equipment) { e.Station = "booth" }, "INVALID_NAME", fault.Invalid, "equipment.station"},
		"NoStages":    {func(e *materialsv1.Equipment) { e.StageKinds = nil }, "INVALID_FIELD", fault.Invalid, "equipment.stage_kinds"},
	} {
		t.Run(name, func(t *testing.T) {
			r := sprayer("Airless")
			c.change(r.Equipment)
			if f := svctest.Refused(t, b.Service, b.SaveEquipment, r, c.kind, c.reason); c.field != "" {
				refusedAt(t, f, c.field)
			}
		})
	}
}

// Two hours after the last service another is due; noting it begins the hours anew.
func TestServer_RecordService(t *testing.T) {
	b := equip(t)
	gun := b.save(t, sprayer("HVLP gun"))
	b.ran(t, gun.Name, 8, time.Hour)
	b.ran(t, gun.Name, 10, 59*time.Minute+59*time.Second)
	if got := b.line(t); got.ServiceDue || got.Total.AsDuration() != 2*time.Hour-time.Second || got.ServiceTime != nil {
		t.Errorf("a second before = %v, want it not due", got)
	}
	b.ran(t, gun.Name, 12, time.Second)
	if got := b.line(t); !got.ServiceDue || got.SinceService.AsDuration() != 2*time.Hour || got.TotalCost.Units != 9 {
		t.Errorf("after two hours = %v, want it due, at $9", got)
	}
	r := &materialsv1.RecordServiceRequest{RequestId: svctest.NewID(), Equipment: gun.Name, ServicedBy: "Spray shop", Note: "new needle", CostNote: "$48, on the card",
		ServiceTime: timestamppb.New(time.Date(2026, 3, 2, 13, 0, 0, 0, time.UTC))}
	resp, err := b.RecordService(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "RecordService", &materialsv1.Service{Name: resp.Service.Name, ServiceTime: r.ServiceTime, ServicedBy: "Spray shop", Note: "new needle", CostNote: "$48, on the card", Actor: svctest.Actor}, resp.Service)
	e := b.Last(t)
	same(t, "event", &eventsv1.EquipmentServiced{EquipmentId: bare(gun.Name), DisplayName: "HVLP gun", ServicedBy: "Spray shop", Note: "new needle"}, e.GetEquipmentServiced())
	if e.Version != 2 || !e.OccurredAt.AsTime().Equal(r.ServiceTime.AsTime()) {
		t.Errorf("event = %v, want the second, when it was serviced", e)
	}
	b.ran(t, gun.Name, 14, 30*time.Minute)
	got := b.line(t)
	if got.ServiceDue || got.SinceService.AsDuration() != 30*time.Minute || got.Total.AsDuration() != 150*time.Minute || got.Equipment.Etag != `"2"` {
		t.Errorf("after the service = %v, want half an hour of two and a half", got)
	}
}

// A gun bought used had run for 3 hours, so a service every 2 hours is due as soon as it is written
// down; the hours cost nothing, and after a service only those here count.
func TestServer_SaveEquipment_BoughtUsed(t *testing.T) {
	b := equip(t)
	r := sprayer("HVLP gun")
	r.Equipment.StartingHours = 3
	gun := b.save(t, r)
	if got := b.Last(t).GetEquipmentSaved(); got.StartingHours != 3 {
		t.Errorf("event = %v, want 3 hours of before", got)
	}
	if got := b.line(t); !got.ServiceDue || got.SinceService.AsDuration() != 3*time.Hour || got.Total.AsDuration() != 3*time.Hour || got.TotalCost.Units != 0 || got.Equipment.StartingHours != 3 {
		t.Errorf("at first = %v, want it due after 3 hours that cost nothing", got)
	}
	b.ran(t, gun.Name, 8, time.Hour)
	if got := b.line(t); got.SinceService.AsDuration() != 4*time.Hour || got.Total.AsDuration() != 4*time.Hour || got.TotalCost.Units != 4 {
		t.Errorf("an hour on = %v, want 4 hours of which one cost $4.50", got)
	}
	if _, err := b.RecordService(svctest.Ctx(t), &materialsv1.RecordServiceRequest{RequestId: svctest.NewID(), Equipment: gun.Name, ServicedBy: "Nell"}); err != nil {
		t.Fatal(err)
	}
	if got := b.line(t); got.ServiceDue || got.SinceService.AsDuration() != 0 || got.Total.AsDuration() != 4*time.Hour {
		t.Errorf("serviced = %v, want nothing since, and 4 hours in all", got)
	}
}

// What an hour costs is said anew: the hours of before keep theirs.
func TestServer_ListEquipmentUse_RateOfThen(t *testing.T) {
	b := equip(t)
	gun := b.save(t, sprayer("HVLP gun"))
	b.ran(t, gun.Name, 8, time.Hour)
	gun.HourlyCost = usd(9_00)
	gun = b.save(t, &materialsv1.SaveEquipmentRequest{RequestId: svctest.NewID(), Equipment: gun})
	b.ran(t, gun.Name, 10, time.Hour)
	got, err := b.ListEquipmentUse(t.Context(), &materialsv1.ListEquipmentUseRequest{Piece: b.piece})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "ListEquipmentUse", &materialsv1.ListEquipmentUseResponse{TotalCost: usd(13_50), Lines: []*materialsv1.ListEquipmentUseResponse_Line{
		{Equipment: gun.Name, DisplayName: "HVLP gun", Used: durationpb.New(2 * time.Hour), Cost: usd(13_50)}}}, got)
	if l := b.line(t); l.Total.AsDuration() != 2*time.Hour || l.TotalCost.Units != 13 {
		t.Errorf("all hours = %v, want two for $13.50", l)
	}
}

func TestServer_ListServices(t *testing.T) {
	b := equip(t)
	gun := b.save(t, sprayer("HVLP gun"))
	for hour := 8; hour < 11; hour++ {
		if _, err := b.RecordService(svctest.Ctx(t), &materialsv1.RecordServiceRequest{RequestId: svctest.NewID(), Equipment: gun.Name, ServicedBy: "Nell",
			ServiceTime: timestamppb.New(time.Date(2026, 3, 2, hour, 0, 0, 0, time.UTC))}); err != nil {
			t.Fatal(err)
		}
	}
	r := &materialsv1.ListServicesRequest{Equipment: gun.Name, PageSize: 2}
	first, err := b.ListServices(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	r.PageToken = first.NextPageToken
	second, err := b.ListServices(t.Context(), r)
	if err != nil || len(first.Services) != 2 || len(second.Services) != 1 || first.Services[0].ServiceTime.AsTime().Hour() != 10 || second.Services[0].ServiceTime.AsTime().Hour() != 8 {
		t.Errorf("pages = %v and %v, %v, want the newest first", first, second, err)
	}
	none := id.Name("equipment", id.New())
	if _, err := b.ListServices(t.Context(), &materialsv1.ListServicesRequest{Equipment: none}); !fault.Is(err, "EQUIPMENT_NOT_FOUND") {
		t.Errorf("of none = %v, want EQUIPMENT_NOT_FOUND", err)
	}
	svctest.Refused(t, b.Service, b.RecordService, &materialsv1.RecordServiceRequest{RequestId: svctest.NewID(), Equipment: none, ServicedBy: "Nell"}, fault.NotFound, "EQUIPMENT_NOT_FOUND")
	ahead := &materialsv1.RecordServiceRequest{RequestId: svctest.NewID(), Equipment: gun.Name, ServicedBy: "Nell", ServiceTime: timestamppb.New(time.Now().Add(time.Hour))}
	refusedAt(t, svctest.Refused(t, b.Service, b.RecordService, ahead, fault.Invalid, "TIME_IN_FUTURE"), "service_time")
}

// Two machines that ran 20 minutes each at $4.50: $1.50 each, $3.00 together.
func TestServer_ListEquipmentUse(t *testing.T) {
	b := equip(t)
	gun, other := b.save(t, sprayer("HVLP gun")), b.save(t, sprayer("Airless"))
	b.ran(t, gun.Name, 8, 15*time.Minute)
	b.ran(t, gun.Name, 9, 5*time.Minute)
	b.ran(t, other.Name, 9, 20*time.Minute)
	got, err := b.ListEquipmentUse(t.Context(), &materialsv1.ListEquipmentUseRequest{Piece: b.piece})
	if err != nil {
		t.Fatal(err)
	}
	line := func(e *materialsv1.Equipment) *materialsv1.ListEquipmentUseResponse_Line {
		return &materialsv1.ListEquipmentUseResponse_Line{Equipment: e.Name, DisplayName: e.DisplayName, Used: durationpb.New(20 * time.Minute), Cost: usd(1_50)}
	}
	same(t, "ListEquipmentUse", &materialsv1.ListEquipmentUseResponse{Lines: []*materialsv1.ListEquipmentUseResponse_Line{line(other), line(gun)}, TotalCost: usd(3_00)}, got)
	if none, err := b.ListEquipmentUse(t.Context(), &materialsv1.ListEquipmentUseRequest{Piece: id.Name("pieces", id.New())}); err != nil || len(none.Lines) != 0 || none.TotalCost.Units != 0 {
		t.Errorf("of another piece = %v, %v, want nothing", none, err)
	}
}
